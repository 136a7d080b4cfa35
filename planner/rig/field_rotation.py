"""Field rotation while a mount tracks: alt-azimuth mounts, and what it does to a frame's corners.

Hour angles in degrees, west positive; angles of rotation are changes of the parallactic angle, which turns
the sky against a camera that stands still on an alt-azimuth mount.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError

__all__ = [
    "SIDEREAL_DEG_PER_H",
    "altaz_rotation_deg_per_h",
    "corner_blur_px",
    "longest_exposure_s",
    "worst_altaz_rotation_deg_per_h",
]

SIDEREAL_DEG_PER_H = 15.041067
"""Turn of the sky in one hour of mean solar time, degrees."""


def altaz_rotation_deg_per_h(
    latitude_deg: float, hour_angle_deg: ArrayLike, dec_deg: ArrayLike
) -> NDArray[np.float64]:
    """Rate at which the parallactic angle of a place on the sky changes, degrees an hour.

    dq/dH = -cos(lat) cos(A) / cos(h), A the azimuth from north, h the altitude: the derivative of Meeus,
    Astronomical Algorithms (2nd ed.), eq. 14.1. Unbounded at the zenith.

    Parameters
    ----------
    latitude_deg : float
        Of the site, north positive.
    hour_angle_deg, dec_deg : array_like

    >>> round(float(altaz_rotation_deg_per_h(40.0, -30.0, 20.0)), 5)
    10.41227
    """
    lat, hour, dec = (np.radians(value) for value in (latitude_deg, hour_angle_deg, dec_deg))
    north = np.cos(lat) * np.sin(dec) - np.sin(lat) * np.cos(dec) * np.cos(hour)
    east = -np.cos(dec) * np.sin(hour)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = -np.cos(lat) * north / (north * north + east * east)
    return np.asarray(rate * SIDEREAL_DEG_PER_H)


def worst_altaz_rotation_deg_per_h(latitude_deg: float, dec_deg: float, lowest_altitude_deg: float) -> float:
    """Greatest rate, without sign, while a place stands above an altitude; 0 if it never does.

    It is looked for at every quarter of a degree of hour angle, and at transit; infinite through the zenith.
    """
    hours = np.linspace(-180.0, 180.0, 1441)
    lat, dec = math.radians(latitude_deg), math.radians(dec_deg)
    sine = math.sin(lat) * math.sin(dec) + math.cos(lat) * math.cos(dec) * np.cos(np.radians(hours))
    up = sine >= math.sin(math.radians(lowest_altitude_deg))
    if not up.any():
        return 0.0
    if abs(latitude_deg - dec_deg) < 1e-6:
        return math.inf
    return float(np.abs(altaz_rotation_deg_per_h(latitude_deg, hours[up], dec_deg)).max())


def corner_blur_px(turn_deg: float, size_px: tuple[int, int]) -> float:
    """How far a corner moves, in pixels, when the field turns about the frame's centre.

    >>> round(corner_blur_px(0.1, (6000, 4000)), 3)
    6.293
    """
    return math.hypot(*size_px) * abs(math.sin(math.radians(turn_deg) / 2))


def longest_exposure_s(rate_deg_per_h: float, size_px: tuple[int, int], *, blur_px: float = 1.0) -> float:
    """Longest exposure, seconds, with the corners' blur below some pixels; infinite without rotation."""
    if blur_px <= 0.0:
        raise InputError(f"the blur allowed must be above 0 pixels, got {blur_px:g}; give 1 for a pixel")
    if rate_deg_per_h == 0.0:
        return math.inf
    turn_deg = math.degrees(2 * math.asin(min(1.0, blur_px / math.hypot(*size_px))))
    return turn_deg / abs(rate_deg_per_h) * 3600.0

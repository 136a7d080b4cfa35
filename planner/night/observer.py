"""The observer on the turning Earth: zenith, north, east and place, along the axes of the ICRS."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .clock import DAY_S, POSIX_JD, earth_rotation_rad, tt_days
from .settings import Site

__all__ = ["SIDEREAL_RAD_S", "TURN_S", "Observer", "above_horizon_deg", "celestial_axes", "make_observer"]

SIDEREAL_RAD_S = 2.0 * np.pi * 1.00273781191135448 / DAY_S
"""Turn of the Earth, radians a second of UT1 (IAU 2000)."""

TURN_S = 2.0 * np.pi / SIDEREAL_RAD_S
"""A sidereal day, seconds."""

Vectors = NDArray[np.float64]


@dataclass(frozen=True)
class Observer:
    """A place on the Earth.

    Parameters
    ----------
    latitude_rad, longitude_rad : float
        Geodetic, north and east positive.
    center_km : ndarray, shape (3,)
        From the Earth's centre, terrestrial axes (x to Greenwich).
    """

    latitude_rad: float
    longitude_rad: float
    center_km: Vectors

    def basis(self, time_s: ArrayLike, axes: Vectors) -> Vectors:
        """Give unit vectors towards zenith, north and east, shape (..., 3 directions, 3).

        Parameters
        ----------
        time_s : array_like, shape (...)
        axes : ndarray, shape (3, 3)
            From `celestial_axes`.
        """
        angle = earth_rotation_rad(time_s) + self.longitude_rad
        cos, sin, zero = np.cos(angle), np.sin(angle), np.zeros_like(angle)
        up, level = np.sin(self.latitude_rad), np.cos(self.latitude_rad)
        zenith = np.stack([level * cos, level * sin, zero + up], axis=-1)
        north = np.stack([-up * cos, -up * sin, zero + level], axis=-1)
        east = np.stack([-sin, cos, zero], axis=-1)
        return np.asarray(np.stack([zenith, north, east], axis=-2) @ axes)

    def zenith(self, time_s: ArrayLike, axes: Vectors) -> Vectors:
        """Give unit vectors towards the zenith, shape (..., 3); parameters as for `basis`."""
        angle = earth_rotation_rad(time_s) + self.longitude_rad
        level, up = np.cos(self.latitude_rad), np.sin(self.latitude_rad)
        turned = np.stack([level * np.cos(angle), level * np.sin(angle), np.full_like(angle, up)], axis=-1)
        return np.asarray(turned @ axes)

    def position_km(self, time_s: ArrayLike, axes: Vectors) -> Vectors:
        """Give the vector from the Earth's centre to the observer, shape (..., 3)."""
        angle = earth_rotation_rad(time_s)
        cos, sin, (x, y, z) = np.cos(angle), np.sin(angle), self.center_km
        turned = np.stack([cos * x - sin * y, sin * x + cos * y, z + np.zeros_like(angle)], axis=-1)
        return np.asarray(turned @ axes)

    def hour_angle_rad(self, vector: Vectors, time_s: ArrayLike, axes: Vectors) -> NDArray[np.float64]:
        """Compute the hour angle of apparent unit vectors, west positive, in [-pi, pi).

        Parameters
        ----------
        vector : ndarray, shape (..., 3)
        time_s : array_like, shape (...)
            Broadcast against the vectors' leading dimensions.
        """
        turned = vector @ axes.T
        right_ascension = np.arctan2(turned[..., 1], turned[..., 0])
        angle = earth_rotation_rad(time_s) + self.longitude_rad - right_ascension
        return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def make_observer(site: Site) -> Observer:
    """Place an observer at a site (WGS84)."""
    import erfa

    latitude, longitude = np.radians(site.latitude_deg), np.radians(site.longitude_deg)
    center_m = erfa.gd2gc(1, longitude, latitude, site.elevation_m)
    return Observer(float(latitude), float(longitude), np.asarray(center_m) / 1000.0)


def above_horizon_deg(vectors: Vectors, zenith: Vectors) -> NDArray[np.float64]:
    """Altitudes, degrees, of unit vectors (..., 3) where the zenith is another."""
    return np.asarray(np.degrees(np.arcsin(np.clip(np.sum(vectors * zenith, axis=-1), -1.0, 1.0))))


def celestial_axes(time_s: float) -> Vectors:
    """Rows: the axes of the celestial intermediate reference system at an instant, along those of the ICRS (3, 3).

    Within half a day of the instant they move by less than 0.2 arc seconds.
    """
    import erfa

    return np.asarray(erfa.c2i06a(POSIX_JD, float(tt_days(time_s))))

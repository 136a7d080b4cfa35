"""How long a day places of a declination stand high enough over a site, whatever the date."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .horizon import limit_deg
from .settings import Site

__all__ = ["hours_in_reach"]

STEP_DEG = 0.25
"""Of hour angle: a minute of sidereal time."""


def hours_in_reach(site: Site, dec_deg: ArrayLike) -> NDArray[np.float64]:
    """Sidereal hours a day, [0, 24], at or above both lowest altitude and horizon, by day or night.

    Altitudes are geometric; precession since J2000 (up to 0.2 degrees by 2030) is left aside.

    Parameters
    ----------
    site : Site
    dec_deg : array_like, shape (N,)
        Declinations, ICRS.

    Returns
    -------
    ndarray, shape (N,)
        To two minutes; 0 where it never rises so high.

    >>> hours_in_reach(Site(0.0, 0.0, lowest_altitude_deg=0.0), [0.0, 89.0]).round(1).tolist()
    [12.0, 12.0]
    >>> hours_in_reach(Site(52.0, 0.0, lowest_altitude_deg=30.0), [-45.0, 80.0]).tolist()
    [0.0, 24.0]
    """
    hour_angle = np.radians(np.arange(-180.0, 180.0, STEP_DEG))
    dec, latitude = np.radians(np.asarray(dec_deg, dtype=float))[:, None], np.radians(site.latitude_deg)
    north = np.cos(latitude) * np.sin(dec) - np.sin(latitude) * np.cos(dec) * np.cos(hour_angle)
    east = -np.cos(dec) * np.sin(hour_angle)
    up = np.sin(latitude) * np.sin(dec) + np.cos(latitude) * np.cos(dec) * np.cos(hour_angle)
    altitude = np.degrees(np.arctan2(up, np.hypot(north, east)))
    limit = limit_deg(site, np.degrees(np.arctan2(east, north)))
    return np.asarray((altitude >= limit - 1e-9).mean(axis=-1) * 24.0)

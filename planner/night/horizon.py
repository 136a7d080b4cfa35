"""The horizon of a site: the least altitude at which a panel may be shot, by azimuth."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .settings import Site

__all__ = ["highest_limit_deg", "limit_deg"]


def limit_deg(site: Site, azimuth_deg: ArrayLike) -> NDArray[np.float64]:
    """Least geometric altitude in degrees at azimuths (degrees from north through east).

    The greater of the site's lowest altitude and its horizon, whose points are joined by straight lines in
    azimuth and altitude and closed over north.

    >>> limit_deg(Site(0, 0, lowest_altitude_deg=5, horizon_deg=((0, 10), (90, 30))), [45, 225, 0]).tolist()
    [20.0, 20.0, 10.0]
    """
    azimuth = np.asarray(azimuth_deg, dtype=float)
    if not site.horizon_deg:
        return np.full_like(azimuth, site.lowest_altitude_deg)
    points = np.array(site.horizon_deg, dtype=float)
    horizon = np.interp(azimuth % 360.0, points[:, 0], points[:, 1], period=360.0)
    return np.asarray(np.maximum(site.lowest_altitude_deg, horizon))


def highest_limit_deg(site: Site) -> float:
    """Altitude in degrees above which nothing stands in the way at any azimuth."""
    return max([site.lowest_altitude_deg, *(altitude for _, altitude in site.horizon_deg)])

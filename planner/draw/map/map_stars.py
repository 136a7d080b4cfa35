"""Catalogue stars on a map, sized by magnitude."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.catalogue import FAINTEST_MAG, stars_within

from .map_view import MapView

__all__ = ["StarScale", "draw_stars"]

DENSEST_PER_IN2 = 22.0
"""Fainter stars are left out, in steps of half a magnitude, until about so many a square inch are left."""
LARGEST_PT = 8.5
STEEPEST_PT = 0.8
"""Largest gain in diameter per magnitude."""


@dataclass(frozen=True)
class StarScale:
    """How large stars are drawn: the diameter grows evenly with brightness.

    Parameters
    ----------
    brightest, limit : float
        Magnitudes of the brightest star drawn and of the faintest that may be.
    smallest_pt : float
        Diameter at the limit, points.
    """

    brightest: float
    limit: float
    smallest_pt: float

    def diameter_pt(self, magnitude: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Diameters in points."""
        slope = min(STEEPEST_PT, (LARGEST_PT - self.smallest_pt) / max(self.limit - self.brightest, 0.1))
        return self.smallest_pt + slope * (self.limit - np.asarray(magnitude))


def draw_stars(view: MapView) -> StarScale | None:
    """Stars as dots, faint ones first; returns the scale of their sizes, None where there is no star."""
    stars = stars_within(view.window.middle, view.window.radius_rad)
    xy = view.window.project(stars.vectors)
    seen = view.window.holds(xy)
    xy, magnitude = xy[seen], stars.magnitude[seen]
    most = int(DENSEST_PER_IN2 * view.area_in2)
    limit = FAINTEST_MAG if len(magnitude) <= most else float(np.floor(2 * magnitude[most]) / 2)
    bright = np.flatnonzero(magnitude <= limit)[::-1]
    if not len(bright):
        return None
    smallest_pt = float(np.interp(len(bright), [10, 800], [2.4, 1.1]))
    scale = StarScale(float(magnitude[bright].min()), limit, smallest_pt)
    view.axes.scatter(
        xy[bright, 0],
        xy[bright, 1],
        s=scale.diameter_pt(magnitude[bright]) ** 2,
        color=view.palette.ink,
        edgecolors=view.palette.paper,
        linewidths=0.35,
        zorder=4,
        gid="stars",
    )
    return scale

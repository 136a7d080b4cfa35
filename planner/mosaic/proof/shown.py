"""Quick answers to whether panels serve a region, where nobody asks what is left.

Without a box a panel serves what it shows, wherever the region's rim runs. Deep inside a region the box about a
point lies whole in it, so there a panel serves its core far from the rim. Neither takes a sweep.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_change, seen_through, steady
from planner.mosaic.demand import Demand
from planner.mosaic.panel import Shape
from planner.mosaic.region import Region

from .cover import LOWEST_DEPTH, TRIM, Cover, without_hairs

__all__ = ["all_shown", "deep_inside", "lacks_deep"]

QUARTER_CHORDS = 16
ROUNDER = 1.002
"""Arcs of so many chords a quarter come nearer by up to 1 - cos(pi / 64) to the corner that they go around."""


def all_shown(cover: Cover, shape: Shape) -> bool:
    """Whether every point of the region lies in the shape of some panel.

    Shapes are narrowed by a little more than in `Cover.gap`: whatever is called shown here is so there too.

    Parameters
    ----------
    cover : Cover
    shape : corners of the panels' convex shape in their tangent planes
    """
    demand = Demand(shape, (0.0, 0.0))
    half = demand.half_size
    shown = _cores(cover, demand, 2 * TRIM * (1 + steady.hypot(*half) / min(half)))
    if shown is None:
        return not cover.gap(demand)
    return _is_hairs(shapely.difference(cover.region.polygon, shapely.union_all(shown)))


def deep_inside(region: Region, box: tuple[float, float]) -> shapely.Geometry:
    """Points of a region, in its tangent plane, about which a box lies whole in the region however it is turned.

    Parameters
    ----------
    region : Region
    box : (float, float)
        Half sizes in the tangent plane of any panel. A radian is at most 1 / cos(r)^2 long in the region's plane,
        r from its centre.
    """
    reach = steady.hypot(*box) / steady.cos(region.radius_rad) ** 2
    return shapely.buffer(region.polygon, -reach * ROUNDER, quad_segs=QUARTER_CHORDS)


def lacks_deep(cover: Cover, demand: Demand, deep: shapely.Geometry) -> bool:
    """Whether panels surely leave a gap deep inside their region; False also where that is not quick to see.

    Parameters
    ----------
    cover : Cover
    demand : Demand
    deep : shapely geometry
        What `deep_inside` gives for the demand's box.
    """
    served = _cores(cover, demand, -TRIM)
    return served is not None and not _is_hairs(shapely.difference(deep, shapely.union_all(served)))


def _cores(cover: Cover, demand: Demand, trim: float) -> NDArray[np.object_] | None:
    """Cores far from the rim, in the region's plane; None if that does not show all, or if they differ."""
    corners = demand.core_corners(trim)
    rings = seen_through(corners, plane_change(cover.bases, cover.region.basis)[:, None])
    in_front = bool((np.abs(rings) < 1 / LOWEST_DEPTH).all())
    return np.asarray(shapely.polygons(rings)) if len(corners) and in_front and cover.own is None else None


def _is_hairs(left: shapely.Geometry) -> bool:
    return bool(without_hairs(left).is_empty)

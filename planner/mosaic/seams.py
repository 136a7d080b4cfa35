"""Seams: the strips that neighbouring panels share."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, steady, vector_to_plane

from .mosaic import Seam
from .panel import Field, Panel, half_sizes, panel_bases, panel_corners
from .region import Region

__all__ = ["find_seams"]

SHORTEST = 0.2
"""A strip shorter than this part of a panel's side is a corner contact, not a seam."""
SLENDER = 1.25
"""A seam is longer than wide by this factor, both in parts of a panel's sides,"""
WIDE = 0.6
"""or at least this part of the panel both ways."""


def find_seams(region: Region, panels: Sequence[Panel], field: Field) -> tuple[Seam, ...]:
    """Strips that pairs of panels share, inside the region or touching it.

    A seam's width is the area of the strip divided by its length, both in the first panel's tangent plane;
    strips that are hardly longer than wide, as where four corners meet, do not count.

    Parameters
    ----------
    region : Region
    panels : sequence of Panel
    field : Field
    """
    corners, bases = panel_corners(panels, field), panel_bases(panels)
    half = half_sizes(panels, field)
    first, second = _touching(region, corners)
    rings = vector_to_plane(corners[second], bases[first][:, None])
    shown = shapely.box(*-half[first].T, *half[first].T)
    strips = shapely.intersection(shapely.polygons(rings), shown)
    widths = _widths(strips, half[first])
    found = np.flatnonzero(widths > 0)
    return tuple(
        Seam(
            int(first[k]),
            int(second[k]),
            60.0 * math.degrees(widths[k]),
            plane_to_vector(shapely.get_coordinates(strips[k])[:-1], bases[first[k]]),
        )
        for k in found
    )


def _touching(region: Region, corners: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of panels whose footprints share ground in the region, in order."""
    depth = steady.dot(corners, region.basis[2])
    seen = np.flatnonzero(depth.min(axis=1) > 0.02)
    prints = shapely.polygons(vector_to_plane(corners[seen], region.basis))
    first, second = shapely.STRtree(prints).query(prints, predicate="intersects")
    first, second = first[first < second], second[first < second]
    shared = shapely.intersection(prints[first], prints[second])
    inside = shapely.intersects(shared, region.polygon) & (shapely.area(shared) > 0)
    first, second = seen[first[inside]], seen[second[inside]]
    order = np.lexsort((second, first))
    return first[order], second[order]


def _widths(strips: NDArray[np.object_], half: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean widths in the tangent plane of panels (K, 2); 0 where a strip is a corner contact or nothing."""
    x0, y0, x1, y1 = shapely.bounds(strips).T
    extents = np.nan_to_num(np.stack([x1 - x0, y1 - y0], axis=-1))
    parts = extents / (2 * half)
    longest, shortest = parts.max(axis=1), parts.min(axis=1)
    seam = (longest >= SHORTEST) & ((longest >= SLENDER * shortest) | (shortest >= WIDE))
    length = np.take_along_axis(extents, parts.argmax(axis=1)[:, None], axis=1)[:, 0]
    return np.where(seam, shapely.area(strips) / np.where(seam, length, 1.0), 0.0)

"""Seams: the strips that neighbouring panels share."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, vector_to_plane

from .mosaic import Seam
from .panel import Field, Panel, panel_corners, panel_frames
from .region import Region, polygon_area_sr

__all__ = ["find_seams"]

SHORTEST = 0.2
"""A strip shorter than this part of a panel's side is a corner contact, not a seam."""
SLENDER = 1.25
"""A seam is longer than wide by this factor, both in parts of a panel's sides."""


def find_seams(region: Region, panels: Sequence[Panel], field: Field) -> tuple[Seam, ...]:
    """Strips that pairs of panels share, inside the region or touching it.

    A seam's width is the area of the strip divided by its length along the panel; strips that are hardly longer
    than wide, as where four corners meet, do not count.

    Parameters
    ----------
    region : Region
    panels : sequence of Panel
    field : Field
    """
    corners, frames = panel_corners(panels, field), panel_frames(panels)
    half = np.array([field.half_width, field.half_height])
    seams = []
    for first, second in _touching(region, corners):
        strip = _strip(corners[second], frames[first], half)
        if strip is None:
            continue
        vectors = plane_to_vector(strip, frames[first])
        width = _width_arcmin(strip, vectors, frames[first], half)
        if width is not None:
            seams.append(Seam(first, second, width, vectors))
    return tuple(seams)


def _touching(region: Region, corners: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Pairs of panels whose footprints share ground in the region."""
    depth = corners @ region.frame[2]
    seen = np.flatnonzero(depth.min(axis=1) > 0.02)
    prints = shapely.polygons(vector_to_plane(corners[seen], region.frame))
    first, second = shapely.STRtree(prints).query(prints, predicate="intersects")
    pairs = np.stack([seen[first], seen[second]], axis=-1)[first < second]
    shared = shapely.intersection(prints[first[first < second]], prints[second[first < second]])
    inside = shapely.intersects(shared, region.polygon)
    return sorted((int(i), int(j)) for i, j in pairs[inside])


def _strip(
    other: NDArray[np.float64], frame: NDArray[np.float64], half: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Corners of what a panel shares with another one, in its tangent plane, (K, 2); None if nothing."""
    ring = vector_to_plane(other, frame)
    if not np.isfinite(ring).all():
        return None
    strip = shapely.intersection(shapely.Polygon(ring), shapely.box(*-half, *half))
    if strip.geom_type != "Polygon" or strip.is_empty:
        return None
    return np.asarray(strip.exterior.coords)[:-1]


def _width_arcmin(
    strip: NDArray[np.float64],
    vectors: NDArray[np.float64],
    frame: NDArray[np.float64],
    half: NDArray[np.float64],
) -> float | None:
    """Mean width of a strip; None where it is a corner contact."""
    extent = np.ptp(strip, axis=0)
    parts = extent / (2 * half)
    long = int(np.argmax(parts))
    if parts[long] < SHORTEST or (parts[long] < SLENDER * parts[1 - long] and parts.min() < 0.6):
        return None
    angles = np.arctan(strip[:, long])
    length = float(np.ptp(angles))
    return 60.0 * math.degrees(abs(polygon_area_sr(vectors, frame[2])) / length)

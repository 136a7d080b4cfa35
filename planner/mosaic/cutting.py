"""Corners of what many small quadrilaterals have in common with a region whose outline may have many corners.

Points that lie far from the rim need none of it.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import steady, vector_to_plane

from .region import Region

__all__ = ["cut_corners", "near_rim"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Edges = tuple[Array, Array]
FEW_EDGES = 60
"""Outlines of so few edges are crossed with all quadrilaterals at once."""
CELL = 6.0
"""Pieces of longer outlines are at least so many quadrilaterals wide,"""
PAIRS = 2000.0
"""and wider where quadrilaterals and edges make so few pairs that more pieces would cost more than they save."""


def cut_corners(region: Region, quads: Array) -> tuple[Array, Indices]:
    """Corners of the intersections of quadrilaterals with a region, and which quadrilateral each belongs to.

    These are corners of quadrilaterals inside the region, corners of the region inside quadrilaterals, and points
    where their sides cross. Where a corner lies on a side, but for rounding, it may be left out.

    Parameters
    ----------
    region : Region
    quads : ndarray, shape (N, 4, 2)
        Convex, of like size, in the region's plane.

    Returns
    -------
    ndarray, shape (K, 2)
    ndarray of int, shape (K,)
    """
    if not len(quads):
        return np.zeros((0, 2)), np.zeros(0, dtype=np.intp)
    shapely.prepare(region.polygon)
    quad, corner = np.nonzero(shapely.contains_xy(region.polygon, quads[..., 0], quads[..., 1]))
    found, owner = [quads[quad, corner]], [quad]
    for part, (start, end) in _edges_near(region, quads):
        who, which = _meeting(quads[part], (start, end))
        near, first = quads[part[who]], start[which]
        held = _held(near, first)
        xy, crossed = _crossings(near, first, end[which])
        found += [first[held], xy]
        owner += [part[who[held]], part[who[crossed]]]
    return np.concatenate(found), np.concatenate(owner)


def near_rim(region: Region, points: Array, size: float) -> Indices:
    """Numbers of the unit vectors (N, 3) that may lie within a length of their tangent planes from a region's rim."""
    xy = vector_to_plane(points, region.basis)
    stretch = 1.0 + (steady.tan(region.radius_rad) + size) ** 2
    away = shapely.distance(shapely.boundary(region.polygon), shapely.points(xy))
    return np.flatnonzero(away <= 1.1 * stretch * size)


def _meeting(quads: Array, edges: Edges) -> tuple[Indices, Indices]:
    """Quadrilaterals and edges that may meet: those whose upright boxes do."""
    low, high = quads.min(axis=1), quads.max(axis=1)
    least, most = np.minimum(*edges), np.maximum(*edges)
    across = (low[:, :1] <= most[:, 0]) & (high[:, :1] >= least[:, 0])
    who, which = np.nonzero(across & (low[:, 1:] <= most[:, 1]) & (high[:, 1:] >= least[:, 1]))
    return who, which


def _held(quads: Array, corners: Array) -> NDArray[np.bool_]:
    """Whether quadrilaterals (K, 4, 2) hold a corner (K, 2) each, shape (K,)."""
    side, off = np.roll(quads, -1, axis=1) - quads, corners[:, None] - quads
    turn = side[..., 0] * off[..., 1] - side[..., 1] * off[..., 0]
    return np.asarray((turn >= 0).all(axis=1) | (turn <= 0).all(axis=1))


def _crossings(quads: Array, start: Array, end: Array) -> tuple[Array, Indices]:
    """Points where sides of quadrilaterals (K, 4, 2) cross an edge each, from (K, 2) to (K, 2), and their numbers."""
    edge, normal = end - start, np.stack([start[:, 1] - end[:, 1], end[:, 0] - start[:, 0]], axis=-1)
    level = np.sum(normal * start, axis=-1)
    off = quads[..., 0] * normal[:, :1] + quads[..., 1] * normal[:, 1:] - level[:, None]  # on which side
    after = np.roll(off, -1, axis=1)
    who, side = np.nonzero((off > 0) != (after > 0))
    first, second = quads[who, side], quads[who, (side + 1) % 4]
    share = off[who, side] / (off[who, side] - after[who, side])
    xy = first + share[:, None] * (second - first)
    along = np.sum((xy - start[who]) * edge[who], axis=-1)
    on = (along >= 0) & (along <= np.sum(edge * edge, axis=-1)[who])
    return xy[on], who[on]


def _edges_near(region: Region, quads: Array) -> list[tuple[Indices, Edges]]:
    """Numbers of quadrilaterals that lie together, and starts and ends (M, 2) of all edges near these."""
    if len(region.edges) <= FEW_EDGES:
        return [(np.arange(len(quads)), (region.edges[:, 0], region.edges[:, 1]))]
    low, high = quads.min(axis=1), quads.max(axis=1)
    across = float((high.max(axis=0) - low.min(axis=0)).max()) / math.sqrt(
        max(len(quads) * len(region.edges) / PAIRS, 1.0)
    )
    share, twos = math.frexp(max(CELL * float((high - low).max()), across, 1e-12))
    cell = math.ldexp(1.0, twos - (share == 0.5))
    keys = np.floor((low + high) / 2 / cell).astype(int)
    cells, which = np.unique(keys, axis=0, return_inverse=True)
    parts = [np.flatnonzero(which.ravel() == number) for number in range(len(cells))]
    near = [_edges_around(region, cell, int(x), int(y)) for x, y in cells]
    return list(zip(parts, near, strict=True))


@lru_cache(maxsize=4096)
def _edges_around(region: Region, cell: float, x: int, y: int) -> Edges:
    """Starts and ends of the edges that come into a cell of a square grid and half a cell around it."""
    low, high = region.edges.min(axis=1), region.edges.max(axis=1)
    least, most = (np.array([x, y]) - 0.5) * cell, (np.array([x, y]) + 1.5) * cell
    near = np.all((high >= least) & (low <= most), axis=1)
    return region.edges[near, 0], region.edges[near, 1]

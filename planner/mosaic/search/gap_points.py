"""Points of the gaps that a proof finds: they become points to be served."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector
from planner.mosaic.proof.cover import Gap

__all__ = ["gap_points"]

SPIKE = 1e-12
"""Pieces whose area is less than their rim times this (radians) are spikes of the gaps' outlines."""
INWARDS = 0.01
"""Corners are moved by this part of the way to the middle of their piece."""


UNIT = 2.0**-36
"""Points lie on multiples of this (radians): then their order does not hang on last digits."""


def gap_points(gap: Gap, cell: float, *, most: int = 40) -> NDArray[np.float64]:
    """Unit vectors (N, 3) of points in gaps: a middle and the corners of each piece that a square grid cuts out.

    Parameters
    ----------
    gap : Gap
    cell : float
        Of the grid, in the region's tangent plane.
    most : int
        Only so many pieces, the largest.
    """
    pieces = _pieces(gap, cell)
    pieces = pieces[np.argsort(-shapely.area(pieces), kind="stable")[:most]]
    middles = _middles(pieces)
    corners, owner = shapely.get_coordinates(pieces, return_index=True)
    near = corners + INWARDS * (middles[owner] - corners)
    near = near[shapely.contains_xy(gap.shapes, *near.T)]
    points = np.round(np.concatenate([middles, near]) / UNIT) * UNIT
    return plane_to_vector(np.unique(points, axis=0, return_index=True)[0], gap.region.basis)


def _middles(pieces: NDArray[np.object_]) -> NDArray[np.float64]:
    """Centroids, or other points inside where those lie outside."""
    points = shapely.centroid(pieces)
    inside = shapely.contains(pieces, points)
    return np.asarray(shapely.get_coordinates(np.where(inside, points, shapely.point_on_surface(pieces))))


def _pieces(gap: Gap, cell: float) -> NDArray[np.object_]:
    """Parts of the gaps in the cells of a grid, without spikes; the gaps themselves if nothing else is left."""
    parts = shapely.get_parts(gap.shapes)
    left, low, right, high = np.floor(shapely.bounds(parts) / cell).astype(int).T
    columns = right - left + 1
    counts = columns * (high - low + 1)
    owner = np.repeat(np.arange(len(parts)), counts)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    x, y = left[owner] + number % columns[owner], low[owner] + number // columns[owner]
    cells = shapely.box(x * cell, y * cell, (x + 1) * cell, (y + 1) * cell)
    shapely.prepare(parts)
    met = shapely.intersects(parts[owner], cells)
    pieces, cut = parts[owner[met]], counts[owner[met]] > 1
    pieces[cut] = shapely.intersection(cells[met][cut], pieces[cut])
    pieces = shapely.get_parts(pieces)
    pieces = pieces[shapely.area(pieces) > SPIKE * shapely.length(pieces)]
    return np.asarray(pieces if len(pieces) else parts)

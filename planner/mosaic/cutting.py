"""Cutting many small shapes with a region whose outline may have many corners."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from .region import Region

__all__ = ["cut_with_region"]

FEW_CORNERS = 48
"""Outlines of so few corners are cut as they are."""
CELL = 6.0
"""Pieces of the region are so many shapes wide."""


def cut_with_region(region: Region, shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Intersections of small shapes of like size, in the region's plane, with the region.

    The region is cut into pieces once; every shape then meets only the piece around it.

    Parameters
    ----------
    region : Region
    shapes : ndarray of geometries
    """
    if not len(shapes):
        return shapes
    bounds = shapely.bounds(shapes)
    widest = float((bounds[:, 2:] - bounds[:, :2]).max())
    if len(region.corner_vectors) <= FEW_CORNERS or not widest > 0:
        return _array(shapely.intersection(shapes, region.polygon))
    cell = 2.0 ** np.ceil(np.log2(CELL * widest))
    keys = np.floor((bounds[:, :2] + bounds[:, 2:]) / 2 / cell).astype(int)
    cells, which = np.unique(keys, axis=0, return_inverse=True)
    pieces = np.array([_piece(region, float(cell), int(x), int(y)) for x, y in cells], dtype=object)
    return _array(shapely.intersection(shapes, pieces[which.ravel()]))


@lru_cache(maxsize=4096)
def _piece(region: Region, cell: float, x: int, y: int) -> shapely.Geometry:
    """Part of the region in a cell of a square grid and half a cell around it."""
    around = shapely.box((x - 0.5) * cell, (y - 0.5) * cell, (x + 1.5) * cell, (y + 1.5) * cell)
    return shapely.intersection(region.polygon, around)


def _array(shapes: Any) -> NDArray[np.object_]:
    return np.asarray(shapes, dtype=object)

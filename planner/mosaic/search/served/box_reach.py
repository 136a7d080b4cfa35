"""How far what must be seen around a point reaches: its box, cut with the region."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_change, seen_through, steady
from planner.mosaic.cutting import cut_corners, near_rim
from planner.mosaic.orientation import Orientation
from planner.mosaic.region import Region

__all__ = ["SIDES", "box_reach", "turned_reach"]

Array = NDArray[np.float64]
SIDES = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
"""Directions to left, right, up and down in a panel's tangent plane."""
CORNERS = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
NO_BOX = 1e-9


def box_reach(region: Region, orientation: Orientation, box: Sequence[float], points: Array) -> Array:
    """Reach to left, right, up and down, (P, 4), of boxes square with panels at the points themselves.

    Parameters
    ----------
    region : Region
    orientation : Orientation
    box : (float, float)
        Half sizes.
    points : ndarray, shape (P, 3)
    """
    half = np.maximum(box, NO_BOX)
    reach = np.tile(np.repeat(half, 2), (len(points), 1))
    rim = near_rim(region, points, steady.hypot(*half))
    reach[rim] = turned_reach(region, orientation.bases(points[rim]), box, SIDES, 0.0)[0]
    return reach


def turned_reach(
    region: Region, bases: Array, box: Sequence[float], directions: Array, turn: float
) -> tuple[Array, NDArray[np.bool_]]:
    """Reach of turned boxes, cut with the region, along directions that turn with them.

    Parameters
    ----------
    region : Region
    bases : ndarray, shape (P, 3, 3)
        Of tangent planes at the points.
    box : (float, float)
    directions : ndarray, shape (K, 2)
        Unit vectors.
    turn : float
        Radians by which boxes are turned from the basis's up towards its left.

    Returns
    -------
    ndarray, shape (P, K)
    ndarray of bool, shape (P,)
        Whether the region cuts the box.
    """
    half = np.maximum(box, NO_BOX)
    cos, sin = steady.cos_sin(turn)
    back = np.array([[cos, -sin], [sin, cos]])
    corners = seen_through(steady.times(CORNERS * half, back), plane_change(bases, region.basis)[:, None])
    shapely.prepare(region.polygon)
    is_cut = ~np.asarray(shapely.contains_properly(region.polygon, shapely.polygons(corners)))
    reach = np.tile(steady.dot(np.abs(directions), half), (len(bases), 1))
    cut = np.flatnonzero(is_cut)
    xy, owner = cut_corners(region, corners[cut])
    local = steady.times(seen_through(xy, plane_change(region.basis, bases[cut])[owner]), back.T)
    part = np.zeros((len(cut), len(directions)))
    np.maximum.at(part, owner, steady.times(local, directions.T))
    reach[cut] = np.minimum(part, reach[cut])
    return reach, is_cut

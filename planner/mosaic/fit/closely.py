"""Margins of one set in a tangent plane: by angles close to each other, or wherever the centre lies."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, vector_to_plane

from .cells import DIRECTIONS, ROUNDING, Cell, Supports, bent
from .opening import Opening

__all__ = ["closely", "hull_of", "open_margins", "sides_at"]

Array = NDArray[np.float64]
CLOSER = 16
"""So many angles between two, where a set is looked at closely."""


def hull_of(corners: Array, basis: Array) -> Array:
    """Corners of the convex hull of some corners, in the tangent plane of a basis, shape (N, 3)."""
    hull = shapely.convex_hull(shapely.MultiPoint(vector_to_plane(corners, basis)))
    return plane_to_vector(shapely.get_coordinates(hull), basis)


def closely(corners: Array, members: NDArray[np.bool_], cell: Cell) -> float:
    """Return the most margin that a set can leave in a cell, by angles much closer to each other.

    Parameters
    ----------
    corners : ndarray, shape (N, 3)
        Of the set.
    members : ndarray of bool, shape (T,)
        Things in it.
    cell : Cell
    """
    margins = cell.margins(cell.supports[members[cell.near]].max(axis=0))
    good = cell.angles[margins >= margins.max() - 2 * (cell.size * np.pi / DIRECTIONS + ROUNDING)]
    finer = (good[:, None] + (np.arange(CLOSER) + 0.5) / CLOSER - 0.5).ravel() * 2 * np.pi / DIRECTIONS
    top = float(
        cell.margins(sides_at(vector_to_plane(hull_of(corners, cell.basis), cell.basis), finer)).max()
    )
    return top + cell.bent + cell.size * math.pi / DIRECTIONS / CLOSER


def sides_at(plane: Array, angles_rad: Array) -> Array:
    """How far points of a plane reach to the left, right, up and down of fields at angles, shape (4, A)."""
    left = plane @ np.stack([np.cos(angles_rad), -np.sin(angles_rad)])
    up = plane @ np.stack([np.sin(angles_rad), np.cos(angles_rad)])
    return np.stack([left.max(axis=0), -left.min(axis=0), up.max(axis=0), -up.min(axis=0)])


def open_margins(supports: Supports, opening: Opening, size: float) -> tuple[Array, Array]:
    """Margins that sets leave wherever the centre lies, and by how much they may be off, shapes (..., A).

    Parameters
    ----------
    supports : ndarray, shape (..., 4, A)
        As in `Cell.supports`.
    opening : Opening
    size : float
        Half a field's diagonal, tangent plane.
    """
    half = np.array(opening.half)[:, None]
    across = supports[..., 0::2, :] + supports[..., 1::2, :]
    away = np.abs(supports[..., 0::2, :] - supports[..., 1::2, :]) / 2
    margins = (half - across / 2).min(axis=-2)
    free = np.maximum(half - across / 2 - margins[..., None, :], 0)
    far = np.hypot(*np.moveaxis(away + free, -2, 0))
    return margins, bent(size, np.minimum(far, size)) + size * math.pi / DIRECTIONS + ROUNDING

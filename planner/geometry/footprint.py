"""Footprints of flat rectangular sensors on the sky."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from . import steady
from .plane import plane_to_vector

__all__ = ["footprint_area_sr", "footprint_vectors"]

CORNER_SIGNS = np.array([[1.0, -1.0], [-1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]])
"""Corners SE, SW, NW, NE at position angle 0 as (left, up) signs: counter-clockwise from inside the sphere."""


def footprint_vectors(basis: ArrayLike, half_width: ArrayLike, half_height: ArrayLike) -> NDArray[np.float64]:
    """Corner vectors SE, SW, NW, NE (as seen at position angle 0) of panels.

    Parameters
    ----------
    basis : array_like, shape (..., 3, 3)
        Panel bases from `sky_basis`.
    half_width, half_height : array_like, shape (...)
        Half sizes in the tangent plane, tan(field / 2).

    Returns
    -------
    ndarray, shape (..., 4, 3)
    """
    half = np.stack(np.broadcast_arrays(half_width, half_height), axis=-1)
    return plane_to_vector(CORNER_SIGNS * half[..., None, :], np.asarray(basis, dtype=float)[..., None, :, :])


def footprint_area_sr(half_width: ArrayLike, half_height: ArrayLike) -> NDArray[np.float64]:
    """Solid angle of a tangent plane rectangle, steradians.

    Source: 4 arcsin(ab / sqrt((1 + a^2)(1 + b^2))) with half sizes a and b; equals the triangle formula of
    van Oosterom & Strackee 1983.

    >>> round(float(footprint_area_sr(1.0, 1.0)) / np.pi, 12)   # a cube's face is 4 pi / 6
    0.666666666667
    """
    a, b = np.asarray(half_width, dtype=float), np.asarray(half_height, dtype=float)
    return np.asarray(4.0 * steady.arcsin(a * b / np.sqrt((1 + a * a) * (1 + b * b))))

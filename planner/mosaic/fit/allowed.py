"""Which boxes of placements hold position angles that are allowed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["Arc", "may_be_allowed", "steepness"]

Array = NDArray[np.float64]
Arc = tuple[float, float]
"""First position angle and span, radians, modulo half a turn; a span of 0 is a single angle."""
STEEPEST = 1e3
"""Beyond, a box may hold any angle."""


def may_be_allowed(middle: Array, half: Array, basis: Array, arcs: Sequence[Arc]) -> NDArray[np.bool_]:
    """Whether any placement of each box may have a position angle on one of the arcs.

    A field that turns by w about its own axes changes its position angle by at most |wz| + tan(declination) times
    the way of its centre.

    Parameters
    ----------
    middle, half : ndarray, shape (N, 3)
        Middles and half sizes (phi, a, b) of the boxes, as in `proof`.
    basis : ndarray, shape (3, 3)
        Left, up, out at the shape's middle, ICRS.
    arcs : sequence of (float, float)
    """
    up, out = _axes(middle, basis)
    angle = _position_angles(up, out)
    reach = half.sum(axis=1)
    steep = steepness(middle, half, basis)
    spread = np.where(steep >= STEEPEST, np.inf, reach + steep * reach)
    held = np.zeros(len(angle), dtype=bool)
    for start, span in arcs:
        ahead = (angle - start) % np.pi
        held |= np.minimum(np.maximum(ahead - span, 0.0), np.pi - ahead) <= spread
    return held


def steepness(middle: Array, half: Array, basis: Array) -> Array:
    """Greatest tan(declination) of the centres of each box, shape (N,); `STEEPEST` next to a pole."""
    _, out = _axes(middle, basis)
    latitude = np.abs(np.arctan2(out[:, 2], np.hypot(out[:, 0], out[:, 1]))) + half.sum(axis=1)
    steep = np.tan(np.minimum(latitude, np.arctan(STEEPEST)))
    return np.asarray(steep)


def _axes(middle: Array, basis: Array) -> tuple[Array, Array]:
    """Axes up and out of the boxes' middles, ICRS, shape (N, 3) each."""
    (cp, ca, cb), (sp, sa, sb) = (part(middle.T)[..., None] for part in (np.cos, np.sin))
    left, up, out = basis
    across, along = cp * left - sp * up, cp * up + sp * left
    return ca * along - sa * out, sb * across + cb * (sa * along + ca * out)


def _position_angles(up: Array, out: Array) -> Array:
    east = np.stack([-out[:, 1], out[:, 0], np.zeros(len(out))], axis=-1)
    north = np.cross(out, east)
    return np.asarray(np.arctan2(np.sum(up * east, axis=1), np.sum(up * north, axis=1)))

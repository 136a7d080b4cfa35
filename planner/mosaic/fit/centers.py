"""The best centre of a field at a given angle: where the least room at its sides is largest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .opening import Opening
from .planes import highest_below
from .sides import Sides, corners_seen, rooms_left, sides_of

__all__ = ["best_centers"]

Array = NDArray[np.float64]
MOST_STEPS = 100
CLOSE = 2e-9
"""Radians (0.4 milliarcseconds): steps that promise less end a search."""
SHORTEST = 3e-8
NEAR_POLE = 0.5
"""A step goes at most this part of the way to a pole, where angles change at once."""


def best_centers(
    corners: Array, opening: Opening, centers: Array, angles_rad: Array, reach: float | Array
) -> Sides:
    """Move fields, each at its own angle, to where the least room at their sides is largest.

    Each step takes the rooms for planes (they nearly are: their curvature is the sine of the field's half size)
    and goes to the highest point below them within reach; the reach shrinks where that was too good to be true.

    Parameters
    ----------
    corners : ndarray, shape (N, 3) or (K, N, 3)
    opening : Opening
    centers : ndarray, shape (K, 3)
        Where to begin.
    angles_rad : ndarray, shape (K,)
        Position angles at the fields' own centres.
    reach : float or ndarray of shape (K,)
        Longest first step, radians.
    """
    best = sides_of(corners, opening, centers.copy(), angles_rad.copy())
    left = np.arange(len(centers))
    reaches = np.full(len(centers), reach)
    also = best.nearest.copy()
    close = CLOSE / float(opening.units.min())
    for _ in range(MOST_STEPS):
        now, theirs = best.at(left), corners if corners.ndim == 2 else corners[left]
        steps, promised = _steps(theirs, opening, now, also[left], reaches)
        moved = _moved(theirs, opening, now, steps)
        gained, hoped = moved.room - now.room, promised - now.room
        also[left] = np.where((gained > 0)[:, None], now.nearest, moved.nearest)
        best.put(left[gained > 0], moved.at(gained > 0))
        length = np.abs(steps).max(axis=1)
        reaches = np.where(
            gained > 0.5 * hoped, np.maximum(reaches, 2 * length), np.where(gained > 0, 0.5, 0.25) * length
        )
        going = (hoped > close) & (reaches > SHORTEST)
        left, reaches = left[going], reaches[going]
        if not len(left):
            break
    return best


def _steps(
    corners: Array, opening: Opening, now: Sides, also: NDArray[np.int64], reaches: Array
) -> tuple[Array, Array]:
    """Steps to the highest points below the rooms' planes and what they promise; `also`: corners just left or met."""
    reaches = np.minimum(reaches, NEAR_POLE * np.hypot(now.centers[:, 0], now.centers[:, 1]))
    steps, promised = np.empty((len(reaches), 2)), np.empty(len(reaches))
    rooms, slopes = now.rooms, now.gradients(opening)
    more = (also != now.nearest).any(axis=1)
    steps[~more], promised[~more] = highest_below(rooms[~more], slopes[~more], reaches[~more])
    if more.any():
        some = now.at(more)
        seen = corners_seen(corners if corners.ndim == 2 else corners[more], some, also[more])
        heights = np.concatenate([some.rooms, rooms_left(opening, seen)], axis=1)
        tilts = np.concatenate([slopes[more], some.gradients(opening, seen)], axis=1)
        steps[more], promised[more] = highest_below(heights, tilts, reaches[more])
    return steps, promised


def _moved(corners: Array, opening: Opening, now: Sides, steps: Array) -> Sides:
    ahead = now.centers + np.sum(steps[:, :, None] * now.axes, axis=1)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    return sides_of(corners, opening, ahead, now.angles_rad)

"""Many shapes beside each other: their corners in one array, and fields moved to the middle of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from .opening import Opening
from .shape import Shape
from .sides import Sides, sides_of

__all__ = ["alike", "centered", "corners_of"]

Array = NDArray[np.float64]
ROUNDS = 3
"""Each leaves of an offset its product with the squared size of shape and field: three leave nothing to see."""


def alike(shapes: Sequence[Shape], which: Sequence[int], most_corners: int) -> Iterator[list[int]]:
    """Yield shapes of like counts of corners that are worked on together, those with the fewest first."""
    some: list[int] = []
    for k in sorted(which, key=lambda k: len(shapes[k].corners)):
        count = len(shapes[k].corners)
        if some and (count * (len(some) + 1) > most_corners or count > 2 * len(shapes[some[0]].corners) + 8):
            yield some
            some = []
        some.append(k)
    if some:
        yield some


def corners_of(corners: Sequence[Array]) -> Array:
    """Corners of all in one array, shape (K, N, 3); the first stands for those that are missing."""
    most = max(map(len, corners))
    return np.stack([np.concatenate([one, np.repeat(one[:1], most - len(one), axis=0)]) for one in corners])


def centered(
    corners: Array, opening: Opening, centers: Array, angles_rad: Array, *, rounds: int = ROUNDS
) -> Sides:
    """Move fields, each at its own angle, until opposite sides have equal room.

    In a plane that is the best that a field can do at an angle; on the sphere next to it.

    Parameters
    ----------
    corners : ndarray, shape (K, N, 3)
    opening : Opening
    centers : ndarray, shape (K, 3)
        Where to begin.
    angles_rad : ndarray, shape (K,)
        Position angles at the fields' own centres.
    rounds : int
        How often they are moved.
    """
    placed = sides_of(corners, opening, centers, angles_rad)
    for _ in range(rounds):
        left, right, top, bottom = placed.rooms.T
        steps = np.stack([right - left, bottom - top], axis=1) / 2 * opening.units[::2]
        ahead = placed.centers + np.sum(steps[:, :, None] * placed.axes, axis=1)
        ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
        placed = sides_of(corners, opening, ahead, angles_rad)
    return placed

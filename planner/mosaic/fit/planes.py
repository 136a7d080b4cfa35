"""The highest point below a few planes over a small square: one step of a search for the largest room."""

from __future__ import annotations

from functools import cache, reduce
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

__all__ = ["highest_below"]

Array = NDArray[np.float64]
TINY = 1e-300
RIM_CORNERS = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]])


def highest_below(heights: Array, slopes: Array, reach: Array) -> tuple[Array, Array]:
    """Where the least of a few planes is highest within a square about the origin.

    The linear program has its optimum where three planes meet, where two meet above the rim of the square, or
    above a corner of it; all of these are tried.

    Parameters
    ----------
    heights : ndarray, shape (K, P)
        Of the planes above the origin.
    slopes : ndarray, shape (K, P, 2)
    reach : ndarray, shape (K,)
        Half side of the square.

    Returns
    -------
    steps : ndarray, shape (K, 2)
    highest : ndarray, shape (K,)
    """
    square = reach[:, None, None]
    tries = np.concatenate(
        [_meetings(heights, slopes), _rim_meetings(heights, slopes, reach), square * RIM_CORNERS], axis=1
    )
    tries = np.clip(tries, -square, square)
    rooms = heights[:, None] + tries @ slopes.transpose(0, 2, 1)
    least = reduce(np.minimum, np.moveaxis(rooms, 2, 0))  # plane by plane: numpy is slow along short axes
    best = least.argmax(axis=1)
    every = np.arange(len(best))
    return tries[every, best], least[every, best]


def _meetings(heights: Array, slopes: Array) -> Array:
    """Places where three planes meet, shape (K, threes, 2)."""
    first, second, third = _choices(heights.shape[1], 3).T
    a, b = slopes[:, first] - slopes[:, second], slopes[:, first] - slopes[:, third]
    p, q = heights[:, second] - heights[:, first], heights[:, third] - heights[:, first]
    det = _nonzero(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
    return np.stack([(p * b[..., 1] - a[..., 1] * q) / det, (a[..., 0] * q - p * b[..., 0]) / det], axis=-1)


def _rim_meetings(heights: Array, slopes: Array, reach: Array) -> Array:
    """Places on the lines of the square's sides where two planes meet, shape (K, 4 twos, 2)."""
    first, second = _choices(heights.shape[1], 2).T
    slope, rise = slopes[:, first] - slopes[:, second], heights[:, second] - heights[:, first]
    safe = _nonzero(slope)
    found = []
    for side in (-reach[:, None], reach[:, None]):
        across = (rise - slope[..., 0] * side) / safe[..., 1]
        along = (rise - slope[..., 1] * side) / safe[..., 0]
        fixed = np.broadcast_to(side, across.shape)
        found += [np.stack([fixed, across], axis=-1), np.stack([along, fixed], axis=-1)]
    return np.concatenate(found, axis=1)


@cache
def _choices(planes: int, count: int) -> NDArray[np.int64]:
    return np.array(list(combinations(range(planes), count)))


def _nonzero(values: Array) -> Array:
    return np.where(np.abs(values) < TINY, TINY, values)

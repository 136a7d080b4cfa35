"""Level strips across a flat outline, many at once: the pieces of what lies inside that each strip holds.

What a strip cuts off each edge of the outline has a shadow on the strip's axis. Between shadows the inside either
fills the strip or leaves it empty, which the edges crossed so far tell.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Outline", "Pieces"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
HAIR = 1e-10
"""Shadows that are apart by less touch each other."""


class Pieces:
    """Pieces of the inside in strips, as intervals of the first coordinate, by strip and then rising.

    Parameters
    ----------
    strip : ndarray of int, shape (N,)
    start, end : ndarray, shape (N,)
    """

    def __init__(self, strip: Index, start: Array, end: Array) -> None:
        self.strip, self.start, self.end = strip, start, end

    def __len__(self) -> int:
        return len(self.strip)

    def holding(self, strip: Index, place: Array) -> Index:
        """Indices of the last piece of a strip that begins at a place or before it, else its first, for several."""
        wide = 1.0 + max(float(np.abs(self.start).max(initial=0)), float(np.abs(place).max(initial=0)))
        keys = self.strip * 3.0 * wide + self.start
        found = np.searchsorted(keys, strip * 3.0 * wide + place, side="right") - 1
        return np.maximum(found, np.searchsorted(self.strip, strip))


class Outline:
    """Edges of a closed outline, in order of their lower ends.

    Parameters
    ----------
    corners : ndarray, shape (E, 2)
    """

    def __init__(self, corners: Array) -> None:
        following = np.roll(corners, -1, axis=0)
        swap = (corners[:, 1] > following[:, 1])[:, None]
        lower, upper = np.where(swap, following, corners), np.where(swap, corners, following)
        order = np.argsort(lower[:, 1], kind="stable")
        (self._u, self._low), (self._other_u, self._high) = lower[order].T, upper[order].T
        rise = self._high - self._low
        self._slope = (self._other_u - self._u) / np.where(rise > 0, rise, np.inf)
        self._level = rise < 1e-15
        self._tallest = float(rise.max())
        self.bottom, self.top = float(self._low.min()), float(self._high.max())

    def pieces(self, low: Array, high: Array) -> Pieces:
        """Pieces of the inside in strips between heights `low` and `high`, each of shape (S,)."""
        strip, edge = self._meetings(low, high)
        begin, end = np.maximum(low[strip], self._low[edge]), np.minimum(high[strip], self._high[edge])
        u, slope, base = self._u[edge], self._slope[edge], self._low[edge]
        first = u + (begin - base) * slope
        last = np.where(self._level[edge], self._other_u[edge], u + (end - base) * slope)
        left, right = np.minimum(first, last), np.maximum(first, last)
        middle = (low[strip] + high[strip]) / 2
        crosses = (base < middle) != (self._high[edge] < middle)
        order = np.lexsort((left, strip))
        return _merged(strip[order], left[order], right[order], crosses[order])

    def _meetings(self, low: Array, high: Array) -> tuple[Index, Index]:
        """Pairs of strips and edges that share a height."""
        first = np.searchsorted(self._low, low - self._tallest, side="left")
        count = np.maximum(np.searchsorted(self._low, high, side="right") - first, 0)
        strip = np.repeat(np.arange(len(low)), count)
        edge = np.arange(len(strip)) + np.repeat(first - (np.cumsum(count) - count), count)
        meets = self._high[edge] >= low[strip]
        return strip[meets], edge[meets]


def _merged(strip: Index, left: Array, right: Array, crosses: NDArray[np.bool_]) -> Pieces:
    """Pieces from shadows that are sorted by strip and left end."""
    if not len(strip):
        return Pieces(strip, left, right)
    wide = 2.0 * (float(max(np.abs(left).max(), np.abs(right).max())) + 1.0)
    reached = np.maximum.accumulate(right + strip * wide) - strip * wide
    inside = np.cumsum(crosses) % 2 == 1  # every strip's middle crosses an even number of edges
    new = np.ones(len(strip), dtype=bool)
    new[1:] = (strip[1:] != strip[:-1]) | ((left[1:] > reached[:-1] + HAIR) & ~inside[:-1])
    at = np.flatnonzero(new)
    return Pieces(strip[at], left[at], np.maximum.reduceat(right, at))

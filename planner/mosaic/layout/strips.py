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
    """Edges of a closed outline of one ring or several, in order of their lower ends.

    Parameters
    ----------
    corners : ndarray, shape (..., E, 2)
        Of one outline, or of several that no strip has in common.
    following : ndarray, shape (..., E, 2), optional
        Other ends of the edges that begin at the corners; left out, the outline is one ring.
    """

    def __init__(self, corners: Array, following: Array | None = None) -> None:
        following = np.roll(corners, -1, axis=-2) if following is None else following
        corners, following = corners.reshape(-1, 2), following.reshape(-1, 2)
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
        left, right = self._shadows(strip, edge, low, high)
        middle = (low + high)[strip] / 2
        crosses = (self._low[edge] < middle) != (self._high[edge] < middle)
        order = np.argsort(left + strip * _stride(left, right), kind="stable")
        return _merged(strip[order], left[order], right[order], crosses[order])

    def extents(self, low: Array, high: Array) -> tuple[Array, Array]:
        """Least and greatest first coordinate in strips, each of shape (S,); infinite where a strip holds nothing."""
        strip, edge = self._meetings(low, high)
        left, right = self._shadows(strip, edge, low, high)
        first, last = np.full(len(low), np.inf), np.full(len(low), -np.inf)
        if len(strip):
            at = np.flatnonzero(np.append(True, strip[1:] != strip[:-1]))
            first[strip[at]], last[strip[at]] = np.minimum.reduceat(left, at), np.maximum.reduceat(right, at)
        return first, last

    def longest_free(self, low: Array, high: Array) -> tuple[Array, Array]:
        """Ends of the longest interval, each of shape (S,), over which the inside fills a strip from low to high.

        Edges may touch its rim. Both ends are 0 where there is no such interval.
        """
        strip, edge = self._meetings(low, high)
        enters = (self._high[edge] > low[strip]) & (self._low[edge] < high[strip])
        strip, edge = strip[enters], edge[enters]
        left, right = self._shadows(strip, edge, low, high)
        middle = (low + high)[strip] / 2
        crosses = (self._low[edge] < middle) != (self._high[edge] < middle)
        wide = _stride(left, right)
        order = np.argsort(left + strip * wide, kind="stable")
        strip, left, right = strip[order], left[order], right[order]
        reached = np.maximum.accumulate(right + strip * wide) - strip * wide
        inside = (
            np.cumsum(crosses[order])[:-1] % 2 == 1
        )  # every strip's middle crosses an even number of edges
        free = np.flatnonzero(inside & (strip[1:] == strip[:-1]) & (left[1:] > reached[:-1]))
        start, end = np.zeros(len(low)), np.zeros(len(low))
        if len(free):
            at = strip[free]
            order = np.lexsort((left[free + 1] - reached[free], at))
            last = np.append(at[order][1:] != at[order][:-1], True)
            longest = free[order][last]
            start[strip[longest]], end[strip[longest]] = reached[longest], left[longest + 1]
        return start, end

    def _shadows(self, strip: Index, edge: Index, low: Array, high: Array) -> tuple[Array, Array]:
        """Ends of what strips cut off edges."""
        u, slope, base = self._u[edge], self._slope[edge], self._low[edge]
        begin, end = np.maximum(low[strip], base), np.minimum(high[strip], self._high[edge])
        first = u + (begin - base) * slope
        last = np.where(self._level[edge], self._other_u[edge], u + (end - base) * slope)
        return np.minimum(first, last), np.maximum(first, last)

    def _meetings(self, low: Array, high: Array) -> tuple[Index, Index]:
        """Pairs of strips and edges that share a height."""
        first = np.searchsorted(self._low, low - self._tallest, side="left")
        count = np.maximum(np.searchsorted(self._low, high, side="right") - first, 0)
        strip = np.repeat(np.arange(len(low)), count)
        edge = np.arange(len(strip)) + np.repeat(first - (np.cumsum(count) - count), count)
        meets = self._high[edge] >= low[strip]
        return strip[meets], edge[meets]


def _stride(left: Array, right: Array) -> float:
    """By how much shadows of one strip are shifted against those of the one before, to keep them apart."""
    return 3.0 * float(max(np.abs(left).max(initial=0), np.abs(right).max(initial=0))) + 1e-3


def _merged(strip: Index, left: Array, right: Array, crosses: NDArray[np.bool_]) -> Pieces:
    """Pieces from shadows that are sorted by strip and left end."""
    if not len(strip):
        return Pieces(strip, left, right)
    wide = _stride(left, right)
    reached = np.maximum.accumulate(right + strip * wide) - strip * wide
    inside = np.cumsum(crosses) % 2 == 1  # every strip's middle crosses an even number of edges
    new = np.ones(len(strip), dtype=bool)
    new[1:] = (strip[1:] != strip[:-1]) | ((left[1:] > reached[:-1] + HAIR) & ~inside[:-1])
    at = np.flatnonzero(new)
    return Pieces(strip[at], left[at], np.maximum.reduceat(right, at))

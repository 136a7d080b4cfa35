"""One, two or three of many sets that hold most between them: maximum coverage, exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["best_few", "undominated"]

Array = NDArray[np.float64]
Sets = NDArray[np.bool_]
SAME = 1e-9
"""Relative to the sum of all weights: sums that differ by less are the same."""
CHUNK = 256
"""Pairs whose third set is sought at once."""


def undominated(sets: Sets, rooms: Array) -> NDArray[np.int64]:
    """Return the sets that lie in no other one; of equal sets that with the most room, of equal rooms the first.

    Parameters
    ----------
    sets : ndarray of bool, shape (M, N)
    rooms : ndarray, shape (M,)

    Returns
    -------
    ndarray of int, shape (K,)
        Rising.

    >>> sets = np.array([[1, 0, 0], [1, 1, 0], [0, 1, 1], [1, 1, 0]], dtype=bool)
    >>> undominated(sets, np.array([9.0, 1.0, 1.0, 2.0])).tolist()
    [2, 3]
    """
    order = _beside(sets, rooms)
    order = order[np.lexsort((order, -rooms[order], -sets[order].sum(axis=1)))]
    inside = sets[order].astype(np.float32)
    beyond = inside @ (1.0 - inside).T
    before = np.tri(len(order), k=-1, dtype=bool)
    return np.sort(order[~((beyond == 0) & before).any(axis=1)])


def _beside(sets: Sets, rooms: Array) -> NDArray[np.int64]:
    """Return the sets that do not lie in the one before or after them, round and round until none is left."""
    kept = np.arange(len(sets))
    while len(kept) > 1:
        here, rank = sets[kept], np.stack([sets[kept].sum(axis=1), rooms[kept], -kept])
        drop = np.zeros(len(kept), dtype=bool)
        for shift in (1, -1):
            other, beats = np.roll(here, shift, axis=0), np.roll(rank, shift, axis=1)
            drop |= ~(here & ~other).any(axis=1) & _ranks_below(rank, beats)
        if not drop.any():
            break
        kept = kept[~drop]
    return kept


def _ranks_below(rank: Array, other: Array) -> NDArray[np.bool_]:
    """Whether columns come before others, looked at row by row."""
    below, tied = np.zeros(rank.shape[1], dtype=bool), np.ones(rank.shape[1], dtype=bool)
    for one, another in zip(rank, other, strict=True):
        below |= tied & (one < another)
        tied &= one == another
    return below


@dataclass(frozen=True, eq=False)
class _Gains:
    """Weights of sets and of what one brings in beside another."""

    sets: Array
    weights: Array
    own: Array
    gain: Array
    rooms: Array
    same: float

    @property
    def pair(self) -> Array:
        """Weight of every two together, shape (M, M)."""
        return np.asarray(self.own[:, None] + self.gain)


def best_few(sets: Sets, weights: Array, rooms: Array, most: int = 3) -> tuple[tuple[int, ...], ...]:
    """Return the one set, the two, and the three with the greatest weight of what they hold together.

    One and two by looking at all; three by branch and bound. For a set i, the greatest of the three, and j, which
    adds more to it than the third does, the third adds at most what it adds to i alone, and to j alone, and no
    more than j does; pairs whose bound does not pass the best known are never looked at (the gains of maximum
    coverage only shrink: Nemhauser, Wolsey and Fisher 1978, Mathematical Programming 14, 265).

    Parameters
    ----------
    sets : ndarray of bool, shape (M, N)
    weights : ndarray, shape (N,)
        0 or more.
    rooms : ndarray, shape (M,)
        Among equals the larger room is taken.
    most : int
        1, 2 or 3.

    Returns
    -------
    tuple of tuples of int
        For one set, two, ... up to `most`, or up to M; each rising.

    >>> sets = np.array([[1, 1, 1, 0, 0], [0, 1, 1, 1, 1], [0, 0, 0, 1, 1], [1, 0, 0, 0, 0]], dtype=bool)
    >>> best_few(sets, np.ones(5), np.ones(4))
    ((1,), (0, 1), (0, 1, 2))
    """
    inside = sets.astype(float)
    own = inside @ weights
    gain = own[None, :] - (inside * weights) @ inside.T
    known = _Gains(inside, weights, own, gain, rooms, SAME * max(1.0, float(weights.sum())))
    searches = (_best_one, _best_two, _best_three)[: min(most, len(sets))]
    return tuple(tuple(sorted(search(known))) for search in searches)


def _best_one(known: _Gains) -> tuple[int, ...]:
    best = np.flatnonzero(known.own >= known.own.max() - known.same)
    return (int(best[known.rooms[best].argmax()]),)


def _best_two(known: _Gains) -> tuple[int, ...]:
    pair = np.where(np.tri(len(known.own), dtype=bool), -np.inf, known.pair)
    first, second = np.nonzero(pair >= pair.max() - known.same)
    rooms = np.minimum(known.rooms[first], known.rooms[second])
    best = int(rooms.argmax())
    return int(first[best]), int(second[best])


def _best_three(known: _Gains) -> tuple[int, ...]:
    best = _exchanged(known, _with_third(known, _best_two(known)))
    value = _weight(known, best)
    first, second, bound = _pairs_with_hope(known, value)
    for begin in range(0, len(first), CHUNK):
        some = slice(begin, begin + CHUNK)
        if bound[begin] <= value + known.same:
            break
        totals = _totals_with_third(known, first[some], second[some])
        row, third = np.unravel_index(int(totals.argmax()), totals.shape)
        if totals[row, third] > value + known.same:
            value = float(totals[row, third])
            best = (int(first[some][row]), int(second[some][row]), int(third))
    return _roomier(known, best)


def _pairs_with_hope(known: _Gains, value: float) -> tuple[NDArray[np.int64], NDArray[np.int64], Array]:
    """Return pairs (i, j) that with a third set might pass a value, and their bounds, falling."""
    own, gain = known.own, known.gain
    order = np.lexsort((np.arange(len(own)), -own))
    rank = np.empty(len(own), dtype=np.int64)
    rank[order] = np.arange(len(own))
    hope = (rank[:, None] < rank[None, :]) & (own[:, None] + 2 * gain > value + known.same)
    first, second = np.nonzero(hope)
    bounds = np.empty(len(first))
    for begin in range(0, len(first), CHUNK):
        i, j = first[begin : begin + CHUNK], second[begin : begin + CHUNK]
        third = np.minimum(np.minimum(gain[i], gain[j]), gain[i, j][:, None])
        third[rank[None, :] <= rank[i][:, None]] = 0.0
        third[np.arange(len(j)), j] = 0.0
        bounds[begin : begin + CHUNK] = own[i] + gain[i, j] + third.max(axis=1)
    left = np.flatnonzero(bounds > value + known.same)
    left = left[np.argsort(-bounds[left], kind="stable")]
    return first[left], second[left], bounds[left]


def _totals_with_third(known: _Gains, first: NDArray[np.int64], second: NDArray[np.int64]) -> Array:
    """Return the weight of pairs with each third set, shape (P, M); nothing with themselves."""
    held = np.maximum(known.sets[first], known.sets[second])
    totals = (held @ known.weights)[:, None] + ((1.0 - held) * known.weights) @ known.sets.T
    rows = np.arange(len(first))
    totals[rows, first] = totals[rows, second] = -np.inf
    return np.asarray(totals)


def _with_third(known: _Gains, pair: tuple[int, ...]) -> tuple[int, ...]:
    first, second = pair
    totals = _totals_with_third(known, np.array([first]), np.array([second]))[0]
    return first, second, int(totals.argmax())


def _weight(known: _Gains, chosen: tuple[int, ...]) -> float:
    return float(known.sets[list(chosen)].max(axis=0) @ known.weights)


def _exchanged(known: _Gains, chosen: tuple[int, ...]) -> tuple[int, ...]:
    """Return three sets of which no single one can be exchanged for a better one."""
    value, quiet = _weight(known, chosen), 0
    while quiet < 3:
        other = _with_third(known, chosen[1:])
        found = _weight(known, other)
        better = found > value + known.same
        quiet = 0 if better else quiet + 1
        chosen, value = (other, found) if better else ((*chosen[1:], chosen[0]), value)
    return chosen


def _roomier(known: _Gains, chosen: tuple[int, ...]) -> tuple[int, ...]:
    """Return three sets of the same weight, each with the most room that it can have beside the two others."""
    value = _weight(known, chosen)
    for _ in range(3):
        first, second = chosen[1:]
        totals = _totals_with_third(known, np.array([first]), np.array([second]))[0]
        equal = np.flatnonzero(totals >= value - known.same)
        chosen = (first, second, int(equal[known.rooms[equal].argmax()]))
    return chosen

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
"""So many pairs, or triples, are looked at together."""


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
    sets = sets[:, _varying(sets)]
    order = _beside(sets, rooms)
    shared = _shared_weights(sets[order], np.ones(sets.shape[1]))
    ranked = np.lexsort((order, -rooms[order], -sets[order].sum(axis=1)))
    inside = np.round(np.diag(shared)[:, None] - shared)[np.ix_(ranked, ranked)] == 0
    before = np.tri(len(order), k=-1, dtype=bool)
    return np.sort(order[ranked[~(inside & before).any(axis=1)]])


def _shared_weights(sets: Sets, weights: Array) -> Array:
    """Return the weight of what every two sets have in common, shape (M, M).

    A member held by sets of neighbouring numbers, as stretches of angles make them, is a few rectangles of pairs:
    their corners are noted, and summed along both axes.
    """
    count, members = sets.shape
    edges = np.diff(np.zeros((members, count + 2), dtype=np.int8) + np.pad(sets.T, ((0, 0), (1, 1))), axis=1)
    of, start = np.nonzero(edges > 0)
    _, stop = np.nonzero(edges < 0)
    runs = np.bincount(of, minlength=members)
    first = np.repeat(np.arange(len(of)), runs[of])
    begun = np.repeat(np.cumsum(runs[of]) - runs[of], runs[of])
    second = np.repeat((np.cumsum(runs) - runs)[of], runs[of]) + np.arange(len(first)) - begun
    corners = np.zeros((count + 1, count + 1))
    for rows, sign in ((start, 1.0), (stop, -1.0)):
        np.add.at(corners, (rows[first], start[second]), sign * weights[of[first]])
        np.add.at(corners, (rows[first], stop[second]), -sign * weights[of[first]])
    return np.asarray(corners.cumsum(axis=0).cumsum(axis=1)[:-1, :-1])


def _varying(sets: Sets) -> NDArray[np.bool_]:
    """Members that some sets hold and others do not: what all hold, or none, makes no difference between them."""
    return np.asarray(sets.any(axis=0) & ~sets.all(axis=0))


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
    more than j does; triples whose bound does not pass the best known are never looked at (the gains of maximum
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
    varying = _varying(sets)
    inside, weights = sets[:, varying].astype(float), weights[varying]
    own = _weights_of(inside, weights)
    gain = own[None, :] - _shared_weights(sets[:, varying], weights)
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
    triples, bounds = _triples_with_hope(known, value)
    for begin in range(0, len(triples), CHUNK):
        if bounds[begin] <= value + known.same:
            break
        some = triples[begin : begin + CHUNK]
        totals = _weights_of(known.sets[some].max(axis=1), known.weights)
        found = int(totals.argmax())
        if totals[found] > value + known.same:
            value, best = float(totals[found]), tuple(some[found].tolist())
    return _roomier(known, best)


def _triples_with_hope(known: _Gains, value: float) -> tuple[NDArray[np.int64], Array]:
    """Return triples (i, j, k) that might pass a value, shape (T, 3), and their bounds, falling."""
    own, gain = known.own, known.gain
    order = np.lexsort((np.arange(len(own)), -own))
    rank = np.empty(len(own), dtype=np.int64)
    rank[order] = np.arange(len(own))
    hope = (rank[:, None] < rank[None, :]) & (own[:, None] + 2 * gain > value + known.same)
    first, second = np.nonzero(hope)
    triples, bounds = [np.empty((0, 3), dtype=np.int64)], [np.empty(0)]
    for begin in range(0, len(first), CHUNK):
        i, j = first[begin : begin + CHUNK, None], second[begin : begin + CHUNK, None]
        most = own[i] + gain[i, j] + np.minimum(gain[i[:, 0]], gain[j[:, 0]])
        less = (gain[i[:, 0]] <= gain[i, j]) & (rank[None, :] > rank[i])
        row, third = np.nonzero(less & (most > value + known.same))
        triples.append(np.stack([i[row, 0], j[row, 0], third], axis=1))
        bounds.append(most[row, third])
    found, bound = np.concatenate(triples), np.concatenate(bounds)
    falling = np.argsort(-bound, kind="stable")
    return found[falling], bound[falling]


def _with_third(known: _Gains, pair: tuple[int, ...]) -> tuple[int, ...]:
    return *pair, int(_totals_with_third(known, pair).argmax())


def _totals_with_third(known: _Gains, pair: tuple[int, ...]) -> Array:
    """Return the weight of two sets with each third one, shape (M,); nothing with themselves."""
    held = known.sets[list(pair)].max(axis=0)
    totals = held @ known.weights + _weights_of(known.sets, (1.0 - held) * known.weights)
    totals[list(pair)] = -np.inf
    return np.asarray(totals)


def _weights_of(sets: NDArray[np.bool_] | Array, weights: Array) -> Array:
    """Return the weight of each set, shape (M,), without waking threads: on a busy machine they cost more."""
    return np.asarray(np.einsum("mn,n->m", sets, weights))


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
        equal = np.flatnonzero(_totals_with_third(known, chosen[1:]) >= value - known.same)
        chosen = (*chosen[1:], int(equal[known.rooms[equal].argmax()]))
    return chosen

"""Lower bounds for an interval of camera angles: how many panels, if panels could be taken in parts.

Points are chosen, each with a rectangle that encloses all places from which a panel serves it (see `enclosure`).
Sets of points that one panel may serve are the largest cliques of these rectangles. The least total of parts of
sets that hold every point is a linear program; its dual solution gives the points weights so that no set weighs
more than 1, and then every plan has at least as many panels as all points weigh.

Few points have a weight in the end. So the program begins with a coarse lattice, drops the points that do not
matter and takes in those of a fine lattice that the parts of panels do not yet hold whole, round by round. Where
that is not enough, rounds look at a point in each cell between the edges of the panels that were taken in parts:
what lies between the points of a lattice decides more than how wide the interval is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.task import Task

from .interval_view import CORNERS_TOO, MIDDLE, View, between_edges, lattices, view_of
from .solver import heaviest_points, least_sets

__all__ = ["Packing", "Relaxation", "proven_count", "relax_any", "weigh"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
SAFETY = 1e-6
DECIMALS = 8
"""Of a total, so that no last digits decide which interval is the weakest; well below `SAFETY`."""
ROUNDING = 1e-12
"""More than sums of some hundred weights can be off by."""
MOST_NODES = 400
"""Branches that an integer program may look at: chosen by eye."""
ANY_WIDTH_DEG = 10.0
"""Width of the intervals of angles where panels may have any angle."""
MOST_ADDED = 8.0
"""Points that a round takes in, at most, per core that the region holds."""
LEAST_ADDED = 20
APART = 0.08
"""Points that a round takes in stand at least this part of a panel's short side apart."""
SHORT = 1e-6
"""Points that lack so little do not count as lacking."""
COARSE_ROUNDS = 2
"""Rounds that look at the lattice alone."""
MOST_CORNERED = 24
"""Sets in use, at most, for which corners of cells are looked at: points grow with the square."""


@dataclass(frozen=True, eq=False)
class Relaxation:
    """The relaxed cover for an interval of angles.

    Parameters
    ----------
    middle_deg, half_deg : float
        The interval.
    total : float
        Weight of all points: a lower bound of the number of panels.
    vectors : ndarray, shape (C, 3)
        Middles of the places that serve the sets.
    sets : ndarray of bool, shape (C, P)
    """

    middle_deg: float
    half_deg: float
    total: float
    vectors: Array
    sets: Flags

    @property
    def bound(self) -> int:
        """Panels that every plan within the interval has at least."""
        return proven_count(self.total)


class Packing:
    """Points of a region and their weights, made sharper round by round.

    Parameters
    ----------
    views : sequence of View
        Intervals of angles; every panel may have an angle of any of them.
    points : sequence of ndarray, shape (P, 3)
        Points of each demand to begin with.
    stock : callable
        Points of each demand that rounds may take in; called before the first round.
    closely : bool
        Whether later rounds look between the edges of panels too.
    """

    def __init__(
        self,
        views: Sequence[View],
        points: Sequence[Array],
        stock: Callable[[], Sequence[Array]],
        *,
        closely: bool = False,
    ) -> None:
        self.views, self.closely, self._rounds = tuple(views), closely, 0
        self.task = views[0].task
        self._stock: Callable[[], Sequence[Array]] | None = stock
        self._points = self._seen(points)
        self._active = np.flatnonzero(self._points.usable)
        self.size = 0
        self.total = 0.0
        self._solve()

    @property
    def weighty(self) -> list[Array]:
        """Points that have a weight, (P, 3) for each demand."""
        return self._of_demands(self._active[self._weights > 0.0])

    def seen_from(self, views: Sequence[View], more: Sequence[Array]) -> Packing:
        """Return a packing for other angles, which begins with the points in use here and with some more."""
        points = [np.concatenate(both) for both in zip(self._of_demands(self._active), more, strict=True)]
        stock = self._stock or (lambda: self._of_demands(self._spare()))
        return Packing(views, points, stock, closely=self.closely)

    def sharpen(self) -> bool:
        """Take in the points that parts of panels do not hold whole; whether there were any."""
        return self._take_in(self._parts)

    def settle(self) -> tuple[int, Array, bool]:
        """Let an integer program look for the fewest whole sets that hold all points in use.

        Returns
        -------
        int
            Panels that every plan has at least.
        ndarray, shape (N, 3)
            Middles of the places of the sets chosen, those of the first view.
        bool
            Whether they left out points that were not in use yet; these have been taken in.
        """
        total, chosen = least_sets(np.concatenate(self._sets), MOST_NODES)
        parts = np.zeros(len(self._parts))
        parts[chosen] = 1.0
        places = self._places[0][chosen[chosen < len(self._places[0])]]
        vectors = self.views[0].chart.vectors(places)
        return proven_count(total), vectors, len(chosen) > 0 and self._take_in(parts)

    def relaxation(self, middle_deg: float, half_deg: float) -> Relaxation:
        """Return the state as the relaxation of an interval, with the places of the first view."""
        vectors = self.views[0].chart.vectors(self._places[0])
        return Relaxation(middle_deg, half_deg, self.total, vectors, self._sets[0])

    def _take_in(self, parts: Array) -> bool:
        """Make a round with the points that parts of sets, shape (C,), do not hold whole."""
        if self._stock is not None:
            self._points = self._points.with_more(self._seen(self._stock()))
            self._stock = None
        self._rounds += 1
        closely = self.closely and self._rounds > COARSE_ROUNDS
        if closely and not self._look_between(parts) and np.count_nonzero(parts > SHORT) <= MOST_CORNERED:
            self._look_between(parts, CORNERS_TOO)
        held = np.round(self._held(parts), DECIMALS)
        needed = closely | (self._weights > 0.0) | (held[self._active] < 1.0 + SHORT)
        added = self._lacking(1.0 - held)
        if not len(added):
            return False
        self._active = np.concatenate([self._active[needed], added])
        self._solve()
        return True

    def _look_between(self, parts: Array, shares: Sequence[float] = MIDDLE) -> bool:
        """Add to the stock points between the edges of panels taken in parts, shape (C,), that lack something.

        Whether there were any; `shares` as in `between_edges`.
        """
        start, known = 0, len(self._points.vectors)
        for view, places in zip(self.views, self._places, strict=True):
            used = parts[start : start + len(places)] > SHORT
            start += len(places)
            new = self._seen(between_edges(view, places[used], shares))
            lacking = np.round(self._held(parts, new), DECIMALS) < 1.0 - SHORT
            self._points = self._points.with_more(new.some(lacking & new.usable))
        return len(self._points.vectors) > known

    def _spare(self) -> NDArray[np.intp]:
        """Points that are not in use."""
        is_spare = np.ones(len(self._points.vectors), dtype=bool)
        is_spare[self._active] = False
        return np.flatnonzero(is_spare)

    def _of_demands(self, which: NDArray[np.intp]) -> list[Array]:
        vectors, demand = self._points.vectors[which], self._points.demand[which]
        return [vectors[demand == number] for number in range(len(self.task.demands))]

    def _seen(self, points: Sequence[Array]) -> _Points:
        found = [view.extents(points) for view in self.views]
        demand = np.concatenate([np.full(len(p), number) for number, p in enumerate(points)])
        usable = np.all([usable for _, usable in found], axis=0)
        return _Points(np.concatenate(points), demand, [extent for extent, _ in found], usable)

    def _solve(self) -> None:
        extents = [extent[self._active] for extent in self._points.extents]
        found = [view.sets(extent) for view, extent in zip(self.views, extents, strict=True)]
        self._places, self._sets = [places for places, _ in found], [sets for _, sets in found]
        every = np.concatenate(self._sets)
        self.size = every.size
        total, self._weights, self._parts = weigh(every)
        self.total = max(self.total, round(total, DECIMALS))

    def _held(self, parts: Array, points: _Points | None = None) -> Array:
        """How much of sets holds each point, shape (P,), if their parts are taken, shape (C,)."""
        points = points or self._points
        held = np.zeros(len(points.vectors))
        start = 0
        for view, extent, places in zip(self.views, points.extents, self._places, strict=True):
            part = parts[start : start + len(places)]
            start += len(places)
            used = np.flatnonzero(part)
            held += np.einsum("c,cp->p", part[used], view.holds(extent, places[used]))
        return held

    def _lacking(self, lack: Array) -> NDArray[np.intp]:
        """Points that lack most, apart from each other."""
        lack[self._active] = 0.0
        lack[~self._points.usable] = 0.0
        order = np.argsort(-lack, kind="stable")[: np.count_nonzero(lack > SHORT)]
        apart = APART * 2 * min(min(demand.core) for demand in self.task.demands)
        cells = np.floor(self._points.vectors[order] / apart).astype(np.int64)
        _, first = np.unique(cells, axis=0, return_index=True)
        return np.asarray(order[np.sort(first)[: max(LEAST_ADDED, int(MOST_ADDED * self.task.cores))]])


@dataclass(frozen=True, eq=False)
class _Points:
    """Points, the demand of each, their rectangles in each view, and those that may be used."""

    vectors: Array
    demand: NDArray[np.intp]
    extents: list[Array]
    usable: Flags

    def with_more(self, other: _Points) -> _Points:
        return _Points(
            np.concatenate([self.vectors, other.vectors]),
            np.concatenate([self.demand, other.demand]),
            [np.concatenate(pair) for pair in zip(self.extents, other.extents, strict=True)],
            np.concatenate([self.usable, other.usable]),
        )

    def some(self, which: Flags) -> _Points:
        """Return some of the points, flags of shape (P,)."""
        extents = [extent[which] for extent in self.extents]
        return _Points(self.vectors[which], self.demand[which], extents, self.usable[which])


def relax_any(task: Task, parts: int) -> Relaxation:
    """Solve the relaxation for panels of which each may have any allowed angle of its own.

    Sets are those of all intervals of angles together, over the same points.
    """
    middle, half = next(task.angles.parts(task.angles.period_deg))
    points = lattices(view_of(task, middle, 0.0), parts)
    views = [view_of(task, m, h) for m, h in task.angles.parts(ANY_WIDTH_DEG)]
    return Packing(views, points, tuple).relaxation(middle, half)


def weigh(sets: Flags) -> tuple[float, Array, Array]:
    """Largest total weight of points so that no set weighs more than 1.

    Weights are made feasible after the program is solved: the total is a bound whatever the solver's tolerances.

    Parameters
    ----------
    sets : ndarray of bool, shape (C, P)
        Every point must be in a set.

    Returns
    -------
    float
    ndarray, shape (P,)
        Weights.
    ndarray, shape (C,)
        Parts of the sets that hold every point whole, and are as many in all as the points weigh.
    """
    count, points = sets.shape
    if not sets.size:
        return 0.0, np.zeros(points), np.zeros(count)
    weights, parts = heaviest_points(sets)
    heaviest = float(np.einsum("cp,p->c", sets, weights).max(initial=0.0))
    weights /= max(heaviest * (1.0 + ROUNDING), 1.0)
    return float(weights.sum()), weights, parts


def proven_count(total: float) -> int:
    """Least whole number of panels that a relaxed total proves."""
    return max(1, math.ceil(total - SAFETY))

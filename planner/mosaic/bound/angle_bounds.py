"""Lower bounds over a range of camera angles: intervals, sharpened and halved until their bounds decide.

The least bound is raised a panel at a time. Only the intervals that hold it back are worked on, the weakest first;
an interval much wider than those that reached the aim is halved at once, and begins with the points that mattered
in the nearest of those, as they stand and turned with the panels.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, steady, vector_to_plane
from planner.mosaic.demand import Demand
from planner.mosaic.sample_points import within
from planner.mosaic.task import Task

from .interval_view import lattices, view_of
from .pace import Pace
from .relaxation import Packing, proven_count

__all__ = ["AngleBounds", "OpenAngles"]

Array = NDArray[np.float64]

FIRST_POINTS = 110
"""Points that the region gets about, to begin with."""
LEAST_PARTS, MOST_PARTS = 2, 14
"""Points along each side of a panel's core, to begin with."""
FINE_PARTS = 12
"""Of those that are taken in, unless told otherwise."""
WIDEST_DEG = 6.0
NARROWEST_DEG, NARROWEST_CLOSELY_DEG = 0.4, 0.05
ROUNDS = (1, 2, 3, 5, 15)
"""Rounds that intervals get before they are halved, from the widest to those that are not halved any more."""
ROUNDS_CLOSELY = (1, 2, 8, 16, 24, 40)
"""The same where rounds look between the edges of panels, which gains more than narrower intervals do."""
ANEW_DEG = 0.4
"""Intervals so narrow begin anew once with a lattice of their own, where rounds look between the edges of panels."""
ROUNDS_INHERITED = 8
"""Rounds that they make before that with the points of others."""
SETTLED_DEG = 0.1
"""Width down to which integer programs go."""
PROGRAMS, MOST_PROGRAMS = 4, 40
"""Integer programs that an interval gets, where each leaves something out, before it is halved; narrow ones more."""
MOST_CORES = 120.0
"""Regions of more panel cores than this are not bounded this way."""
PROBES = 3
"""Intervals after which it is looked whether the others are worth it."""
CELLS = 60_000
"""Sets times points of a program that count as one when effort is measured."""


@dataclass(frozen=True)
class OpenAngles:
    """Intervals of angles and their bounds.

    Parameters
    ----------
    intervals : tuple of (int, float, float)
        Bound, middle and half width in degrees; the most promising come first.
    """

    intervals: tuple[tuple[int, float, float], ...]

    @property
    def least(self) -> int:
        """Number of panels that every plan at any of the angles has at least."""
        return min(bound for bound, _, _ in self.intervals)

    def below(self, count: int) -> list[tuple[float, float]]:
        """Middles and half widths, degrees, of intervals that may hold a plan with fewer panels than a count."""
        return [(middle, half) for bound, middle, half in self.intervals if bound < count]


class AngleBounds:
    """Bounds for all angles of a task.

    Parameters
    ----------
    task : Task
    floor : int
        A bound that is known already, such as that of the area.
    most : int, optional
        How much may be spent in all: a panel more is not sought where that is not likely to be enough.
    fine_parts : int
        Points along each side of a panel's core that are taken in where they matter.
    closely : bool
        Whether rounds look between the edges of panels too. Then more patience is needed.
    """

    def __init__(
        self,
        task: Task,
        *,
        floor: int = 1,
        most: int | None = None,
        fine_parts: int = FINE_PARTS,
        closely: bool = False,
    ) -> None:
        self.task, self.floor, self.most, self.fine_parts = task, floor, most, fine_parts
        self.closely = closely
        self.spent = 0
        self._pace = Pace(most, is_patient=closely) if most is not None else None
        self._worked = (0, 180.0)  # a bound, and the half width at which an interval last reached it
        self._settled_deg = 180.0  # half width at which an integer program last decided
        parts = task.angles.parts(WIDEST_DEG) if task.cores <= MOST_CORES else ()
        self.intervals = [_Interval(m, h, floor, closely=closely) for m, h in parts] or [self._unknown()]
        self._is_hopeless = False
        for number, interval in enumerate(self.intervals):
            self._is_hopeless = number == PROBES and self._is_vain
            if self._is_hopeless:
                break
            self._solve(interval)

    @property
    def least(self) -> int:
        """Number of panels that every plan at every allowed angle has at least."""
        return min(interval.bound for interval in self.intervals)

    def refine(self, count: int, budget: int, angle_deg: float) -> Iterator[int]:
        """Raise the least bound, a panel at a time: sharpen the interval that holds it back, or halve it.

        Parameters
        ----------
        count : int
            Of the best plan known: no higher bound is sought.
        budget : int
            Stop once so much has been spent on relaxations in all.
        angle_deg : float
            Of that plan: bounds are likely to be least there, so it is the first to tell that no more is to be had.

        Yields
        ------
        int
            What has been spent, after each step.
        """
        while self.spent < budget and self.least < count and self._is_likely:
            if not self._improve(self._weakest(angle_deg)):
                return
            yield self.spent

    def _weakest(self, angle_deg: float) -> _Interval:
        """Return the interval that holds the least bound back; of several the one that holds an angle."""
        least = self.least
        weak = [interval for interval in self.intervals if interval.bound == least]
        there = [i for i in weak if abs(self.task.angles.turn_deg(i.middle_deg, angle_deg)) <= i.half_deg]
        return min(there or weak, key=lambda interval: interval.rank)

    @property
    def _is_vain(self) -> bool:
        """Whether the first intervals reached no more than was known, and all others would take too much."""
        costly = self.most is not None and self.spent * len(self.intervals) > self.most * PROBES / 2
        return costly and all(interval.bound <= self.floor for interval in self.intervals[:PROBES])

    @property
    def _is_likely(self) -> bool:
        """Whether what is left may be enough to raise the least bound, at the width that intervals need for it."""
        if self.most is None or self._pace is None or self._is_hopeless:
            return not self._is_hopeless
        aim = self.least + 1
        open_deg = sum(2 * i.half_deg for i in self.intervals if i.bound < aim)
        self._pace.note(aim, self.spent, open_deg)
        wanted, worked_deg = self._worked
        narrow_enough = wanted != aim or open_deg <= 2 * worked_deg * (self.most - self.spent)
        return narrow_enough and self._pace.is_enough(self.spent)

    def _improve(self, interval: _Interval) -> bool:
        """Take one step towards a better bound of an interval; whether there was one to take."""
        before = interval.bound
        wanted, worked_deg = self._worked
        too_wide = before + 1 == wanted and interval.half_deg > 1.9 * worked_deg
        if interval.packing is None and not too_wide:
            self._solve(interval)
        elif interval.may_sharpen and not too_wide:
            self.spent += interval.sharpen()
        elif interval.may_begin_anew and not too_wide:
            interval.begin_anew()
            self._solve(interval)
        elif interval.may_halve:
            self._halve(interval)
            return True
        else:
            return False
        if interval.bound > before:
            was_easy = self.closely and interval.rounds == 0
            self._worked = (before + 1, interval.half_deg * (2 if was_easy else 1))
        return True

    @property
    def open(self) -> OpenAngles:
        """What is known of each interval."""
        ranked = sorted(self.intervals, key=lambda interval: interval.rank)
        return OpenAngles(tuple((i.bound, i.middle_deg, i.half_deg) for i in ranked))

    def settle(self, count: int) -> tuple[float, Array] | None:
        """Let an integer program decide about the weakest interval.

        Parameters
        ----------
        count : int
            Of the best plan known.

        Returns
        -------
        (float, ndarray of shape (N, 3)) or None
            An angle, and fewer places than the count from which panels hold all points known, if the program
            found any; none if there are no intervals left that a program may decide about.
        """
        while weak := [i for i in self.intervals if i.bound < count and i.may_settle]:
            weakest = min(weak, key=lambda interval: interval.rank)
            if weakest.half_deg <= 1.9 * self._settled_deg or not weakest.may_halve:
                break
            self._halve(weakest)
        else:
            return None
        if weakest.packing is None:
            self._solve(weakest)
        vectors = weakest.settle()
        if weakest.bound >= count:
            self._settled_deg = weakest.half_deg
        elif not weakest.may_settle and 2 * weakest.half_deg > SETTLED_DEG:
            self._halve(weakest)
        return weakest.middle_deg, vectors if len(vectors) < count else vectors[:0]

    def _halve(self, interval: _Interval) -> None:
        self.intervals.remove(interval)
        self.intervals.extend(interval.halves())

    def _unknown(self) -> _Interval:
        """Return the whole range, with nothing known but the floor."""
        middle, half = next(self.task.angles.parts(self.task.angles.period_deg))
        return _Interval(middle, half, self.floor, rounds=max(ROUNDS))

    def _solve(self, interval: _Interval) -> None:
        """Weigh the points of an interval for the first time."""
        view = view_of(self.task, interval.middle_deg, interval.half_deg)
        if interval.parent is not None:
            packing = interval.parent.seen_from([view], self._seeds(interval))
        else:
            parts = round(math.sqrt(FIRST_POINTS / self.task.cores))
            parts = min(max(parts, LEAST_PARTS), MOST_PARTS)
            fine = max(parts, self.fine_parts)
            packing = Packing(
                [view], lattices(view, parts), lambda: lattices(view, fine), closely=self.closely
            )
        self.spent += interval.take(packing)

    def _seeds(self, interval: _Interval) -> list[Array]:
        """Points that mattered in the nearest interval that has reached the aim, as they stand and turned."""
        wanted, _ = self._worked
        reached = [i for i in self.intervals if i.packing is not None and i.bound >= wanted]
        turns = [self.task.angles.turn_deg(i.middle_deg, interval.middle_deg) for i in reached]
        nearest = min(range(len(turns)), key=lambda k: abs(turns[k]), default=None)
        if nearest is None or abs(turns[nearest]) > WIDEST_DEG:
            return [np.zeros((0, 3)) for _ in self.task.demands]
        packing = reached[nearest].packing
        points = zip(packing.weighty, self.task.demands, strict=True) if packing else ()
        return [self._turned_too(some, demand, turns[nearest]) for some, demand in points]

    def _turned_too(self, points: Array, demand: Demand, turn_deg: float) -> Array:
        """Points, and those turned about the region's middle that stay inside what is to be served for a demand."""
        region, turn = self.task.region, math.radians(turn_deg)
        cos, sin = steady.cos_sin(turn)
        turned = plane_to_vector(
            steady.times(vector_to_plane(points, region.basis), [[cos, -sin], [sin, cos]]), region.basis
        )
        asked = region if self.task.open is None else self.task.open.inner(demand)
        return np.concatenate([points, turned[within(asked, turned)]]) if asked else points


class _Interval:
    """An interval of angles and the best bound found for it."""

    def __init__(
        self,
        middle_deg: float,
        half_deg: float,
        known: int,
        *,
        parent: Packing | None = None,
        total: float = 0.0,
        rounds: int = 0,
        closely: bool = False,
    ) -> None:
        self.middle_deg, self.half_deg, self.known, self.closely = middle_deg, half_deg, known, closely
        self.parent, self.rounds, self.programs = parent, rounds, 0
        self.is_anew = parent is None
        self.packing: Packing | None = None
        self._inherited, self.total = total, max(float(known), total)
        self.bound = max(known, proven_count(self.total))
        """Panels that every plan within the interval has at least."""

    @property
    def rank(self) -> tuple[int, float, float]:
        return self.bound, self.total, self.middle_deg

    @property
    def may_halve(self) -> bool:
        narrowest = NARROWEST_CLOSELY_DEG if self.closely else NARROWEST_DEG
        return 2 * self.half_deg > narrowest and (self.packing or self.parent) is not None

    @property
    def may_sharpen(self) -> bool:
        return self.packing is not None and self.rounds < self._most_rounds

    @property
    def may_begin_anew(self) -> bool:
        """Whether points of its own, in place of those that it began with, may be tried: once, if it is narrow."""
        is_narrow = 2 * self.half_deg <= ANEW_DEG
        return self.closely and is_narrow and not self.is_anew

    def begin_anew(self) -> None:
        """Forget the points, and keep the bound."""
        self.is_anew, self.rounds = True, 0
        self.parent = self.packing = None
        self._inherited, self.known = self.total, self.bound

    @property
    def _most_rounds(self) -> int:
        rounds = ROUNDS_CLOSELY if self.closely else ROUNDS
        if self.may_begin_anew:
            return ROUNDS_INHERITED
        if not self.may_halve:
            return rounds[-1]
        halvings = round(math.log2(WIDEST_DEG / (2 * self.half_deg)))
        return rounds[min(halvings, len(rounds) - 2)]

    @property
    def _most_programs(self) -> int:
        return PROGRAMS if self.may_halve else MOST_PROGRAMS

    @property
    def may_settle(self) -> bool:
        return (self.packing or self.parent) is not None and self.programs < self._most_programs

    def halves(self) -> list[_Interval]:
        half, points = self.half_deg / 2, self.packing or self.parent
        return [
            _Interval(middle, half, self.bound, parent=points, total=self.total, closely=self.closely)
            for middle in (self.middle_deg - half, self.middle_deg + half)
        ]

    def take(self, packing: Packing) -> int:
        """Take weighed points as this interval's own, and return what they cost."""
        self.packing = packing
        self.total = max(self._inherited, packing.total)
        self.bound = max(self.known, proven_count(self.total))
        return max(1, packing.size // CELLS)

    def sharpen(self) -> int:
        """Make one round, and return what it cost."""
        assert self.packing is not None
        self.rounds = self.rounds + 1 if self.packing.sharpen() else max(ROUNDS_CLOSELY)
        return self.take(self.packing)

    def settle(self) -> Array:
        """Solve an integer program; return the places (N, 3) that it chose if they leave nothing out, or none."""
        assert self.packing is not None
        bound, vectors, took_in = self.packing.settle()
        self.known = max(self.known, bound)
        self.take(self.packing)
        self.programs = self.programs + 1 if took_in else MOST_PROGRAMS
        return vectors[:0] if took_in else vectors

"""Lower bounds over a range of camera angles: intervals, halved where their bound does not yet decide."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .relaxation import Relaxation, relax
from .task import Task

__all__ = ["AngleBounds"]

POINTS = (110, 190, 300, 600, 800, 1000)
"""Points that the region gets about, from the whole range's intervals to the narrowest ones."""
LEAST_PARTS, MOST_PARTS = 2, 14
"""Points along each side of a panel's core."""
WIDEST_DEG = 6.0
MOST_CORES = 120.0
"""Regions of more panel cores than this are not bounded this way."""
CELLS = 60_000
"""Sets times points of a relaxation that count as one when effort is measured."""


@dataclass(frozen=True, eq=False)
class _Interval:
    """An interval of angles with the best bound found for it, and how often it has been refined."""

    relaxation: Relaxation
    bound: int
    level: int

    @property
    def rank(self) -> tuple[int, float, float]:
        return self.bound, self.relaxation.total, self.relaxation.middle_deg


class AngleBounds:
    """Bounds for all angles of a task.

    Parameters
    ----------
    task : Task
    floor : int
        A bound that is known already, such as that of the area.
    """

    def __init__(self, task: Task, *, floor: int = 1) -> None:
        self.task, self.floor = task, floor
        self.spent = 0
        parts = task.angles.parts(WIDEST_DEG) if task.cores <= MOST_CORES else ()
        self.intervals = [self._solved(m, h, 0, floor) for m, h in parts] or [self._unknown()]

    @property
    def least(self) -> int:
        """Number of panels that every plan at every allowed angle has at least."""
        return min(interval.bound for interval in self.intervals)

    def refine(self, count: int, budget: int) -> None:
        """Halve intervals that do not rule out fewer panels than a count, the least promising bounds first.

        Parameters
        ----------
        count : int
            Of the best plan known.
        budget : int
            Stop once so much has been spent on relaxations in all.
        """
        while self.spent < budget:
            weak = [i for i in self.intervals if i.bound < count and i.level + 1 < len(POINTS)]
            if not weak:
                return
            weakest = min(weak, key=lambda interval: interval.rank)
            self.intervals.remove(weakest)
            self.intervals.extend(self._halves(weakest))

    def open_below(self, count: int) -> list[Relaxation]:
        """Intervals that may hold a plan with fewer panels than a count, the most promising first."""
        hopeful = sorted((i for i in self.intervals if i.bound < count), key=lambda interval: interval.rank)
        return [interval.relaxation for interval in hopeful]

    def raise_to(self, relaxation: Relaxation, bound: int) -> None:
        """Note a better bound for an interval, proven by other means."""
        self.intervals = [
            _Interval(i.relaxation, max(i.bound, bound), i.level) if i.relaxation is relaxation else i
            for i in self.intervals
        ]

    def _unknown(self) -> _Interval:
        """Return the whole range, with nothing known but the floor."""
        middle, half = next(self.task.angles.parts(self.task.angles.period_deg))
        nothing = Relaxation(middle, half, float(self.floor), np.zeros((0, 3)), np.zeros((0, 0), dtype=bool))
        return _Interval(nothing, self.floor, len(POINTS))

    def _halves(self, interval: _Interval) -> list[_Interval]:
        middle, half = interval.relaxation.middle_deg, interval.relaxation.half_deg
        middles = [middle - half / 2, middle + half / 2] if half else [middle]
        return [self._solved(m, half / 2, interval.level + 1, interval.bound) for m in middles]

    def _solved(self, middle_deg: float, half_deg: float, level: int, bound: int) -> _Interval:
        parts = round(math.sqrt(POINTS[level] / self.task.cores))
        parts = min(max(parts, LEAST_PARTS), MOST_PARTS)
        relaxation = relax(self.task, middle_deg, half_deg, parts)
        self.spent += max(1, relaxation.sets.size // CELLS)
        return _Interval(relaxation, max(bound, relaxation.bound), level)

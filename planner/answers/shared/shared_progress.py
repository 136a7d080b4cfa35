"""Where a mosaic stands that several instruments share: each one's part, and all of them together."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from planner.answers.progress import MosaicProgress, check_progress, progress_of
from planner.answers.progress.rows import share_of
from planner.frames.review.shared import SharedReview
from planner.night.timetable import Goal
from planner.progress import Progress

from .shared_plan import SharedPlan, part_of

__all__ = ["SharedProgress", "check_shared_progress", "shared_progress_of"]


@dataclass(frozen=True, eq=False)
class SharedProgress:
    """Where a shared mosaic stands.

    Parameters
    ----------
    shared : SharedPlan
    each : tuple of MosaicProgress
        Of each instrument's part, in their order.
    """

    shared: SharedPlan
    each: tuple[MosaicProgress, ...]

    @property
    def named(self) -> Iterator[tuple[str, MosaicProgress]]:
        """Names of the instruments with what they have done."""
        for one, standing in zip(self.shared.instruments, self.each, strict=True):
            yield one.name, standing

    @property
    def shares(self) -> dict[str, float]:
        """Filter to the part of the seconds wanted of all its takers that good frames have, in [0, 1]."""
        done: Counter[str] = Counter()
        wanted: Counter[str] = Counter()
        for row in (row for one in self.each for row in one.rows if row.wanted_seconds is not None):
            done[row.filter or ""] += row.done_seconds  # type: ignore[assignment]
            wanted[row.filter or ""] += row.wanted_seconds or 0.0  # type: ignore[assignment]
        return {name: share_of(done[name], wanted[name]) for name in self.shared.request.filters}

    @property
    def finished(self) -> bool:
        """Whether nothing is wanted of any instrument."""
        return all(one.finished for one in self.each)

    @property
    def last_evening(self) -> dt.date | None:
        """Evening on which the last of them will be done; None if a season does not do."""
        evenings = [one.last_evening for one in self.each if not one.finished or one.last_evening]
        known = [evening for evening in evenings if evening is not None]
        return max(known) if known and len(known) == len(evenings) else None

    @property
    def cost_so_far(self) -> dict[str, float]:
        """Currency to cost of all frames so far."""
        return _sums(one.so_far.cost for one in self.each if one.so_far is not None)

    @property
    def cost_to_come(self) -> dict[str, float]:
        """Currency to cost of what the timetables have of what remains."""
        return _sums(one.cost_to_come for one in self.each)


def _sums(costs: Iterable[Mapping[str, float]]) -> dict[str, float]:
    found: Counter[str] = Counter()
    for cost in costs:
        for currency, value in cost.items():
            found[currency] += value  # type: ignore[assignment]
    return dict(found)


def check_shared_progress(shared: SharedPlan) -> None:
    """Refuse plans whose nights are too many to be planned, before frames are read.

    Raises
    ------
    InputError
        If an instrument has nights that cannot be planned in one go.
    """
    for one in shared.instruments:
        check_progress(one.plan)


def shared_progress_of(
    shared: SharedPlan,
    review: SharedReview,
    *,
    now: dt.date | dt.datetime,
    goal: Goal = "soonest",
    progress: Progress | None = None,
) -> SharedProgress:
    """Tell where a shared mosaic stands; parameters and errors as for `progress_of`."""
    count = len(shared.instruments)
    each = tuple(
        progress_of(
            one.plan,
            review.each[one.name],
            now=now,
            goal=goal,
            progress=part_of(progress, one.name, number, count),
        )
        for number, one in enumerate(shared.instruments)
    )
    return SharedProgress(shared, each)

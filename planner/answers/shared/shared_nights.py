"""Nights of the instruments that share a mosaic: each works at its own sites, all at the same time.

No two of them shoot the same panel through the same filter, so that each one's best timetable is part of the best
for all.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planner.answers.nights import NightsPlan, check_nights, plan_nights, shortfalls
from planner.answers.progress import remaining_nights
from planner.errors import InputError
from planner.frames.review.shots import Shots
from planner.night.timetable import Goal
from planner.progress import Progress
from planner.request.shared import SharedRequest

from .shared_plan import InstrumentPlan, SharedPlan, part_of

__all__ = ["SharedNights", "check_shared_nights", "plan_shared_nights"]

Done = Mapping[tuple[str, str], int]


@dataclass(frozen=True, eq=False)
class SharedNights:
    """A shared mosaic carried through a season.

    Parameters
    ----------
    shared : SharedPlan
    nights : tuple of NightsPlan
        Of each instrument, in their order.
    words : tuple of str
        From when on the nights of each are of what remains; empty where they are of the whole.
    """

    shared: SharedPlan
    nights: tuple[NightsPlan, ...]
    words: tuple[str, ...] = ()

    @property
    def each(self) -> Iterator[tuple[InstrumentPlan, NightsPlan]]:
        """Instruments with their nights."""
        return zip(self.shared.instruments, self.nights, strict=True)

    @property
    def has_timetable(self) -> bool:
        """Whether any instrument has a timetable: those with filters do."""
        return any(one.timetable is not None for one in self.nights)

    @property
    def finished(self) -> bool:
        """Whether every instrument gets done."""
        return not any(one.falls_short for one in self.nights)

    @property
    def last(self) -> dt.date | None:
        """Evening of the last block of any instrument."""
        found = [one.timetable.last for one in self.nights if one.timetable and one.timetable.last]
        return max(found, default=None)

    @property
    def hours_used(self) -> float:
        """Of all instruments together."""
        return sum(one.timetable.hours_used for one in self.nights if one.timetable)

    @property
    def cost(self) -> dict[str, float]:
        """Currency to cost, all instruments together."""
        found: Counter[str] = Counter()
        for one in self.nights:
            for currency, value in (one.timetable.cost if one.timetable else {}).items():
                found[currency] += value  # type: ignore[assignment]
        return dict(found)

    @property
    def shortfalls(self) -> Iterator[str]:
        """What falls short, one sentence each."""
        for one, nights in self.each:
            for text in shortfalls(nights):
                yield f"{one.name}: {text}"


def check_shared_nights(request: SharedRequest) -> None:
    """Refuse, before any long work, instruments whose nights cannot be planned.

    Raises
    ------
    InputError
        In one sentence that names the instrument.
    """
    for one in request.instruments:
        try:
            check_nights(one.request, 1)
        except InputError as error:
            raise InputError(f"{one.name}: {error}") from None


def plan_shared_nights(
    shared: SharedPlan,
    *,
    goal: Goal = "soonest",
    done: Mapping[str, Done] | None = None,
    shots: Mapping[str, Shots] | None = None,
    now: dt.date | dt.datetime | None = None,
    progress: Progress | None = None,
) -> SharedNights:
    """Plan the nights of every instrument.

    Parameters
    ----------
    shared : SharedPlan
    goal : {'soonest', 'cheapest'}
    done : mapping, optional
        Name of an instrument to its good exposures that exist already, see `plan_nights`.
    shots : mapping, optional
        Name of an instrument to when its frames were exposed: then what remains is planned, see `remaining_nights`.
    now : datetime.date or datetime.datetime, optional
        Needed with `shots`.
    progress : Progress, optional

    Raises
    ------
    InputError
        If an instrument has no site or no nights, or asks for more than can be planned in one go.
    """
    check_shared_nights(shared.request)
    found: list[NightsPlan] = []
    words: list[str] = []
    count = len(shared.instruments)
    for number, one in enumerate(shared.instruments):
        tell = part_of(progress, one.name, number, count)
        taken = (done or {}).get(one.name)
        if shots is None or now is None:
            found.append(plan_nights(one.plan, goal=goal, done=taken, progress=tell))
            continue
        rest = remaining_nights(one.plan, taken or {}, shots[one.name], now=now, goal=goal, progress=tell)
        found.append(rest.nights(one.plan))
        words.append(rest.words)
    return SharedNights(shared, tuple(found), tuple(words))

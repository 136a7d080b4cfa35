"""What remains of a season: the one rule by which `progress` and `nights` go on from the frames that came back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.answers.nights import plan_nights
from planner.errors import InputError

from .ahead import coming_evening, season_ahead
from .so_far import SoFar, so_far

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.answers.plan import Plan
    from planner.frames.review.shots import Shots
    from planner.night.timetable import Goal
    from planner.progress import Progress

__all__ = ["Remaining", "remaining_nights"]


@dataclass(frozen=True, eq=False)
class Remaining:
    """What the season came to so far, and what it still has.

    Parameters
    ----------
    so_far : SoFar
    evening : datetime.date
        The coming one, from which on the rest is planned.
    ahead : NightsPlan or None
        The nights of what remains; None where the season has no evening left.
    """

    so_far: SoFar
    evening: dt.date
    ahead: NightsPlan | None

    @property
    def words(self) -> str:
        """Say from when on it is planned, and by which clear share."""
        last, met = self.so_far.last, self.so_far.clear_fraction_met
        after = "no frame tells its date" if last is None else f"the last frame is of the evening of {last}"
        share = f"; clear share {met:.2f}, as met so far" if met else ""
        return f"What remains, from the evening of {self.evening} on ({after}{share})"

    def nights(self, plan: Plan) -> NightsPlan:
        """Return the nights of what remains.

        Raises
        ------
        InputError
            If the season has no evening left.
        """
        if self.ahead is None:
            assert plan.request.nights is not None
            raise InputError(
                f"the season must have an evening left, but it ended on {plan.request.nights.last} and the coming "
                f"evening is {self.evening}; give later dates in [nights], or another --now"
            )
        return self.ahead


def remaining_nights(
    plan: Plan,
    done: Mapping[tuple[str, str], int],
    shots: Shots,
    *,
    now: dt.date | dt.datetime,
    goal: Goal = "soonest",
    progress: Progress | None = None,
) -> Remaining:
    """Plan what remains from the coming evening on, under a sky as clear as it was.

    Parameters
    ----------
    plan : Plan
        With a site and nights.
    done : mapping
        (panel, filter) to good exposures that need not be shot again.
    shots : Shots
        When frames were exposed, good or not.
    now : datetime.date or datetime.datetime
        The coming evening, a date at the first site; or an instant with a time zone.
    goal : {'soonest', 'cheapest'}
    progress : Progress, optional

    Raises
    ------
    InputError
        If the plan has nights that cannot be planned.
    """
    past = so_far(_whole_season(plan, shots, goal, progress), shots)
    evening = coming_evening(plan.request, past.last, now)
    ahead = season_ahead(
        plan, done, evening, clear_fraction=past.clear_fraction_met, goal=goal, progress=progress
    )
    return Remaining(past, evening, ahead)


def _whole_season(plan: Plan, shots: Shots, goal: Goal, progress: Progress | None) -> NightsPlan:
    """Return the nights of the whole plan; their timetable matters only where there are frames.

    What kept panels have already (`taken`) was shot on these very evenings: the timetable has it, too.
    """
    request = plan.request
    if not len(shots):
        plan = replace(plan, request=replace(request, filters=(), panels=(), settled=None))
    elif any(one.taken for one in request.panels):
        bare = tuple(replace(one, taken=None) for one in request.panels)
        plan = replace(plan, request=replace(request, panels=bare))
    return plan_nights(plan, goal=goal, progress=progress)

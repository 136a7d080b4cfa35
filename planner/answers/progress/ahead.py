"""The season that is left: from which evening on, when each panel can be shot, the timetable of what remains."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.answers.nights import NightsPlan, plan_nights

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.night.timetable import Goal
    from planner.progress import Progress
    from planner.request.request import Request

__all__ = ["coming_evening", "nights_left", "season_ahead"]

LEAST_CLEAR_FRACTION = 0.01
"""A season is planned with no less, whatever has been met."""


def coming_evening(request: Request, last: dt.date | None, now: dt.date | dt.datetime) -> dt.date:
    """Return the evening from which on there is time: the coming one, the one after the last frame, the first.

    Parameters
    ----------
    request : Request
        With a site and nights.
    last : datetime.date or None
        Evening of the last frame.
    now : datetime.date or datetime.datetime
        A date at the first site, or an instant with a time zone.
    """
    assert request.nights is not None
    if isinstance(now, dt.datetime):
        now = now.astimezone(request.sites[0].zone).date()
    after = [] if last is None else [last + dt.timedelta(days=1)]
    return max(now, request.nights.first, *after)


def season_ahead(
    plan: Plan,
    done: Mapping[tuple[str, str], int],
    evening: dt.date,
    *,
    clear_fraction: float | None,
    goal: Goal,
    progress: Progress | None,
) -> NightsPlan | None:
    """Plan the nights of what remains; None where the season is over.

    Parameters
    ----------
    done : mapping
        (panel, filter) to good exposures that need not be shot again.
    evening : datetime.date
        The first one.
    clear_fraction : float or None
        Met so far; None or 0: as the plan expects it.
    """
    request = plan.request
    assert request.nights is not None
    if evening > request.nights.last:
        return None
    share = max(LEAST_CLEAR_FRACTION, clear_fraction or request.nights.clear_fraction)
    nights = replace(request.nights, first=evening, clear_fraction=share)
    return plan_nights(
        replace(plan, request=replace(request, nights=nights)), goal=goal, done=done, progress=progress
    )


def nights_left(nights: NightsPlan | None) -> dict[tuple[str, str | None], int]:
    """Return on how many evenings each panel can be shot through each filter; (name, None): through any."""
    found: dict[tuple[str, str | None], set[dt.date]] = {}
    if nights is None:
        return {}
    survey = nights.survey
    for one in survey.evenings:
        names = survey.targets.names
        keys: set[tuple[str, str | None]] = {(names[panel], None) for panel in set(one.sight.panel.tolist())}
        keys |= {(names[row.panel], survey.filters[row.chosen].name) for row in one.segments}
        for key in keys:
            found.setdefault(key, set()).add(one.evening.date)
    return {key: len(dates) for key, dates in found.items()}

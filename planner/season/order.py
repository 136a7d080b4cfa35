"""The order of a season: which target leaves the sky first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.night.survey import Targets
    from planner.plan import Plan
    from planner.request import Request

__all__ = ["last_evening", "order_of_work"]

EVENINGS_AT_ONCE = 7
NEVER = dt.date.max


def last_evening(plan: Plan) -> dt.date | None:
    """Return the last evening of the plan's nights on which every panel that is ever seen still has a window.

    None without nights or site, or if no panel has a window on any of the evenings.
    """
    from planner.nights import targets_of

    request, nights = plan.request, plan.request.nights
    if nights is None or not request.sites:
        return None
    targets = targets_of(plan)
    last: dict[int, dt.date] = {}
    until = nights.last
    while until >= nights.first and len(last) < len(targets):
        since = max(nights.first, until - dt.timedelta(days=EVENINGS_AT_ONCE - 1))
        for panel, evening in _windows(request, targets, since, until):
            last[panel] = max(evening, last.get(panel, evening))
        until = since - dt.timedelta(days=1)
    return min(last.values(), default=None)


def _windows(request: Request, targets: Targets, first: dt.date, last: dt.date) -> list[tuple[int, dt.date]]:
    """Panels and evenings with a window."""
    from planner.night.survey import survey_season

    assert request.nights is not None
    survey = survey_season(targets, request.sites, replace(request.nights, first=first, last=last))
    return [(int(panel), one.evening.date) for one in survey.evenings for panel in np.unique(one.sight.panel)]


def order_of_work(columns: Sequence[int], ends: Sequence[dt.date | None]) -> list[tuple[int, list[int]]]:
    """Return angles in the order of work, each with its targets in order.

    An angle's targets stay together, so that it is set once; the target that leaves the sky first comes first,
    and so does the angle that has it (the earliest due date rule: Jackson 1955, reference from memory). Targets
    without nights come last, in the order given.

    >>> end = dt.date(2027, 3, 1), dt.date(2027, 7, 1), dt.date(2027, 1, 1)
    >>> order_of_work([4, 9, 4], end)
    [(4, [2, 0]), (9, [1])]
    """
    due = [end or NEVER for end in ends]
    groups: dict[int, list[int]] = {}
    for target in sorted(range(len(columns)), key=lambda target: (due[target], target)):
        groups.setdefault(int(columns[target]), []).append(target)
    return list(groups.items())

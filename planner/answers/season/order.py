"""The order of a season: which target can be done when, and what is to be set in turn."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.night.settings import Nights
    from planner.night.survey import Targets
    from planner.request.request import Request

__all__ = ["Span", "evenings_of", "order_of_work", "together"]

EVENINGS_AT_ONCE = 7
Span = tuple[dt.date, dt.date]
"""First and last evening."""
ALWAYS: Span = (dt.date.min, dt.date.max)


def evenings_of(plan: Plan) -> Span | None:
    """Return the evenings of the plan's nights between which it is best done.

    The first one by which every panel that is ever seen has had a window, and the last one on which every such
    panel still has one. None without nights or site, or if no panel has a window on any of the evenings.
    """
    if plan.request.nights is None or not plan.request.sites:
        return None
    first, last = _edge(plan, forward=True), _edge(plan, forward=False)
    return None if first is None or last is None else (first, last)


def _edge(plan: Plan, *, forward: bool) -> dt.date | None:
    """The first evening, or the last, on which each panel has a window; of all panels the one nearest the middle."""
    from planner.answers.nights import targets_of

    assert plan.request.nights is not None
    targets, found = targets_of(plan), dict[int, dt.date]()
    outermost, innermost = (min, max) if forward else (max, min)
    for since, until in _weeks(plan.request.nights, forward=forward):
        for panel, evening in _windows(plan.request, targets, since, until):
            found[panel] = outermost(evening, found.get(panel, evening))
        if len(found) == len(targets):
            break
    return innermost(found.values(), default=None)


def _weeks(nights: Nights, *, forward: bool) -> Iterator[Span]:
    """The evenings a few at a time, from the first on or from the last back."""
    count = (nights.last - nights.first).days + 1
    starts = range(0, count, EVENINGS_AT_ONCE)
    for start in starts:
        end = min(start + EVENINGS_AT_ONCE, count) - 1
        if forward:
            yield nights.first + dt.timedelta(days=start), nights.first + dt.timedelta(days=end)
        else:
            yield nights.last - dt.timedelta(days=end), nights.last - dt.timedelta(days=start)


def _windows(request: Request, targets: Targets, first: dt.date, last: dt.date) -> list[tuple[int, dt.date]]:
    """Panels and evenings with a window."""
    from planner.night.survey import survey_season

    assert request.nights is not None
    survey = survey_season(targets, request.sites, replace(request.nights, first=first, last=last))
    return [(int(panel), one.evening.date) for one in survey.evenings for panel in np.unique(one.sight.panel)]


def order_of_work(columns: Sequence[int], spans: Sequence[Span | None]) -> list[tuple[int, list[int]]]:
    """Return angles in the order in which they are set, each with its targets in order.

    The target that leaves the sky first comes first (the earliest due date rule: Jackson 1955, reference from
    memory), and its angle stays until another angle must be set for what else would be lost. So an angle comes
    twice only where a target of its own is not yet seen by then; how long targets take is not looked at. Targets
    without nights can be done at any time, in the order given.

    >>> march, july, january = (dt.date(2027, month, 1) for month in (3, 7, 1))
    >>> order_of_work([4, 9, 4], [(january, march), (march, july), (january, january)])
    [(4, [2, 0]), (9, [1])]
    >>> order_of_work([4, 9, 4], [(january, january), (march, march), (july, july)])
    [(4, [0]), (9, [1]), (4, [2])]
    """
    first, last = zip(*(span or ALWAYS for span in spans), strict=True)
    waiting = sorted(range(len(columns)), key=lambda target: (last[target], target))
    stays: list[tuple[int, list[int]]] = []
    while waiting:
        column = columns[waiting[0]]
        until = min((last[target] for target in waiting if columns[target] != column), default=dt.date.max)
        done = [t for t in waiting if columns[t] == column and (first[t] <= until or t == waiting[0])]
        stays.append((int(column), done))
        waiting = [target for target in waiting if target not in done]
    return stays


def together(stays: Sequence[tuple[int, list[int]]]) -> list[tuple[int, list[int]]]:
    """Return each angle once, with the targets of all its stays.

    >>> together([(4, [0]), (9, [1]), (4, [2])])
    [(4, [0, 2]), (9, [1])]
    """
    groups: dict[int, list[int]] = {}
    for column, members in stays:
        groups.setdefault(column, []).extend(members)
    return list(groups.items())

"""Where a mosaic stands: what is done, what is left, until when, at what cost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.answers.nights import check_nights, plan_nights

from .ahead import coming_evening, nights_left, season_ahead
from .rows import PanelProgress, filter_shares, panel_rows
from .so_far import SoFar, so_far
from .tonight import TonightWork, tonight_work

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.answers.plan import Plan
    from planner.frames.review.review import Review
    from planner.night.timetable import Goal, Timetable
    from planner.progress import Progress

__all__ = ["MosaicProgress", "check_progress", "progress_of"]


@dataclass(frozen=True, eq=False)
class MosaicProgress:
    """Where a mosaic stands; make it with `progress_of`.

    Parameters
    ----------
    plan : Plan
    review : Review
    rows : tuple of PanelProgress
    shares : dict
        Filter to the part of the wanted seconds that good frames have, in [0, 1].
    so_far : SoFar or None
        None where the plan has no site or no nights.
    evening : datetime.date or None
        The coming one; None where the plan has no site or no nights.
    ahead : NightsPlan or None
        The nights of what remains, from that evening on; None where the season has none left.
    tonight : tuple of TonightWork
    """

    plan: Plan
    review: Review
    rows: tuple[PanelProgress, ...]
    shares: dict[str, float]
    so_far: SoFar | None = None
    evening: dt.date | None = None
    ahead: NightsPlan | None = None
    tonight: tuple[TonightWork, ...] = ()

    @property
    def finished(self) -> bool:
        """Whether nothing is wanted any more."""
        return not self.review.reshoot

    @property
    def has_nights(self) -> bool:
        """Whether the plan tells site and season."""
        return self.so_far is not None

    @property
    def season_over(self) -> bool:
        """Whether something is wanted but no evening of the season is left."""
        return not self.finished and self.has_nights and self.ahead is None

    @property
    def timetable(self) -> Timetable | None:
        """Of what remains; None without filters, and where the season has no evening left."""
        return None if self.ahead is None else self.ahead.timetable

    @property
    def last_evening(self) -> dt.date | None:
        """Evening on which all will be done, or of the last frame where all is; None if the season does not do."""
        if self.finished:
            return None if self.so_far is None else self.so_far.last
        timetable = self.timetable
        return timetable.last if timetable is not None and timetable.finished else None

    @property
    def cost_to_come(self) -> dict[str, float]:
        """Currency to cost of what the timetable has of what remains."""
        if self.finished and self.so_far is not None:
            return dict.fromkeys(self.so_far.cost, 0.0)
        return {} if self.timetable is None else self.timetable.cost


def check_progress(plan: Plan) -> None:
    """Refuse a plan whose nights are too many to be planned, before frames are read.

    Raises
    ------
    InputError
        If the plan has nights that cannot be planned in one go.
    """
    if _has_nights(plan):
        check_nights(plan.request, len(plan.mosaic.panels))


def progress_of(
    plan: Plan,
    review: Review,
    *,
    now: dt.date | dt.datetime,
    goal: Goal = "soonest",
    progress: Progress | None = None,
) -> MosaicProgress:
    """Tell where a mosaic stands.

    Parameters
    ----------
    plan : Plan
    review : Review
        Of the frames that came back, made with this plan.
    now : datetime.date or datetime.datetime
        The coming evening, a date at the first site; or an instant with a time zone.
    goal : {'soonest', 'cheapest'}
        Of the timetable of what remains.
    progress : callable, optional
        Called with what is being done and the share done, in [0, 1].

    Raises
    ------
    InputError
        If the plan has nights that cannot be planned.
    """
    rows = panel_rows(plan, review)
    standing = MosaicProgress(plan, review, rows, filter_shares(plan, rows))
    if not _has_nights(plan):
        return standing
    done = so_far(_whole_season(plan, review, goal, progress), review.shots)
    return _with_season(replace(standing, so_far=done), done, now, goal, progress)


def _has_nights(plan: Plan) -> bool:
    return bool(plan.request.sites) and plan.request.nights is not None


def _whole_season(plan: Plan, review: Review, goal: Goal, progress: Progress | None) -> NightsPlan:
    """Return the nights of the whole plan; their timetable matters only where there are frames."""
    if not len(review.shots):
        request = replace(plan.request, filters=(), panels=(), settled=None)
        plan = replace(plan, request=request)
    return plan_nights(plan, goal=goal, progress=progress)


def _with_season(
    standing: MosaicProgress, done: SoFar, now: dt.date | dt.datetime, goal: Goal, progress: Progress | None
) -> MosaicProgress:
    """Add what the season still allows."""
    evening = coming_evening(standing.plan.request, done.last, now)
    ahead = season_ahead(
        standing.plan,
        standing.rows,
        evening,
        clear_fraction=done.clear_fraction_met,
        goal=goal,
        progress=progress,
    )
    rows = tuple(_with_nights(standing, ahead))
    tonight = () if ahead is None else tonight_work(ahead, rows, evening)
    return replace(standing, rows=rows, evening=evening, ahead=ahead, tonight=tonight)


def _with_nights(standing: MosaicProgress, ahead: NightsPlan | None) -> Iterator[PanelProgress]:
    """Rows with the nights left for them; none are told of panels that are kept as they are."""
    left = nights_left(ahead)
    filters = {one.name for one in standing.plan.request.filters}
    surveyed = None if ahead is None else ahead.survey.targets.names
    for row in standing.rows:
        if surveyed is None or row.name in surveyed:
            key = row.name, row.filter if row.filter in filters else None
            yield replace(row, nights_left=left.get(key, 0))
        else:
            yield row

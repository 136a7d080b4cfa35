"""Where a mosaic stands: what is done, what is left, until when, at what cost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.answers.nights import check_nights

from .ahead import nights_left
from .remaining import remaining_nights
from .rows import PanelProgress, filter_shares, panel_rows
from .so_far import SoFar
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
    progress : Progress, optional

    Raises
    ------
    InputError
        If the plan has nights that cannot be planned.
    """
    rows = panel_rows(plan, review)
    standing = MosaicProgress(plan, review, rows, filter_shares(plan, rows))
    if not _has_nights(plan):
        return standing
    done = {(row.name, row.filter): (row.wanted or 0) - row.missing for row in rows if row.filter is not None}
    rest = remaining_nights(plan, done, review.shots, now=now, goal=goal, progress=progress)
    return _with_season(replace(standing, so_far=rest.so_far, evening=rest.evening, ahead=rest.ahead))


def _has_nights(plan: Plan) -> bool:
    return bool(plan.request.sites) and plan.request.nights is not None


def _with_season(standing: MosaicProgress) -> MosaicProgress:
    """Add what the season still allows."""
    assert standing.evening is not None
    rows = tuple(_with_nights(standing, standing.ahead))
    tonight = () if standing.ahead is None else tonight_work(standing.ahead, rows, standing.evening)
    return replace(standing, rows=rows, tonight=tonight)


def _with_nights(standing: MosaicProgress, ahead: NightsPlan | None) -> Iterator[PanelProgress]:
    """Rows with the nights left for them; none are told of kept panels, or of filters that the plan lacks."""
    left = nights_left(ahead)
    filters = {one.name for one in standing.plan.request.filters}
    surveyed = None if ahead is None else ahead.survey.targets.names
    for row in standing.rows:
        planned = not filters or row.filter in filters
        if planned and (surveyed is None or row.name in surveyed):
            key = row.name, row.filter if filters else None
            yield replace(row, nights_left=left.get(key, 0))
        else:
            yield row

"""The timetable of a season: blocks of exposures placed into the nights, what they cost, what is missing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry.looking import Looking
from planner.progress import Progress

from .bound import Relaxation, make_relaxation
from .fill_night import Placed
from .fill_season import Filled, Season, fill_season, rank
from .lift import lifted
from .prices import cost_of_hours, price_at
from .survey import Survey
from .turns.fewer_turns import Turning
from .workload import Workload, make_workload

__all__ = ["Block", "Bound", "Goal", "Missing", "Timetable", "arrange"]

Goal = Literal["soonest", "cheapest"]
Values = NDArray[np.float64]


@dataclass(frozen=True)
class Block:
    """A run of exposures of one panel through one filter; times include the overheads.

    Parameters
    ----------
    night : int
        Index of the survey's evening.
    panel, chosen : int
        Indices of panel and filter.
    looking : {'east', 'west'} or None
        To which side the telescope looks; None for a mount that never flips.
    """

    night: int
    panel: int
    chosen: int
    exposures: int
    start_s: int
    end_s: int
    looking: Looking | None

    @property
    def hours(self) -> float:
        """Length in hours."""
        return (self.end_s - self.start_s) / 3600.0


@dataclass(frozen=True)
class Missing:
    """Exposures of a panel through a filter that found no place, and why."""

    panel: int
    chosen: int
    exposures: int
    reason: str


@dataclass(frozen=True)
class Bound:
    """What no timetable can beat, and how far this one is from it.

    Parameters
    ----------
    kind : {'evenings', 'cost', 'hours', 'exposure_hours'}
        Evenings from the first until all is done (least); cost or hours of all blocks (least); expected hours
        of exposures placed (most), where not all can be.
    ours, best : float
        Of this timetable, and the bound.
    """

    kind: Literal["evenings", "cost", "hours", "exposure_hours"]
    ours: float
    best: float

    @property
    def gap(self) -> float:
        """How far ours is from the bound, as a fraction of it; never negative."""
        if self.best <= 0.0:
            return 0.0
        behind = self.best - self.ours if self.kind == "exposure_hours" else self.ours - self.best
        return max(0.0, behind / self.best)


@dataclass(frozen=True)
class Timetable:
    """Blocks of a season, by time and site; make it with `arrange`.

    Parameters
    ----------
    cost : dict
        Currency to cost, for the sites that charge.
    last : datetime.date or None
        Evening of the last block.
    """

    goal: Goal
    blocks: tuple[Block, ...]
    missing: tuple[Missing, ...]
    hours_used: float
    cost: dict[str, float]
    last: dt.date | None
    bound: Bound | None

    @property
    def finished(self) -> bool:
        """Whether nothing is missing."""
        return not self.missing


def arrange(
    survey: Survey,
    *,
    goal: Goal = "soonest",
    wanted: NDArray[np.int64] | None = None,
    settings: Sequence[int] | None = None,
    progress: Progress | None = None,
) -> Timetable:
    """Arrange a season.

    Parameters
    ----------
    goal : {'soonest', 'cheapest'}
        Finish as early as possible, or at the least cost (at the fewest hours, where no site charges).
    wanted : ndarray of int, shape (N, F), optional
        Exposures still to be taken of each panel through each filter; left out, the filters' own numbers.
    settings : sequence of int, optional
        Where somebody turns the camera between panels: a number for each panel, alike where the camera stands alike.
        Of what reaches the goal alike, that with fewer turns is taken.

    Raises
    ------
    InputError
        If the cheapest timetable is asked for at sites of different currencies.
    """
    if wanted is None:
        wanted = np.tile([chosen.exposures for chosen in survey.filters], (len(survey.targets), 1))
    work = make_workload(survey, wanted)
    price = _price_an_hour(survey, goal)
    order = np.lexsort((np.arange(len(price)), price)).tolist()
    relaxation = make_relaxation(work, survey.targets.ra_deg)
    fewest = relaxation.fewest_nights(order)
    date = np.array([_date_number(survey, night) for night in range(len(price))])
    season = Season(work, date, price, tuple(order), len(order) if fewest is None else fewest)
    turning = None if settings is None else _turning(survey, settings)
    filled = lifted(season, fill_season(season, progress), _prices(survey), turning)
    return _timetable(survey, season, filled, goal, _bound(survey, season, filled, relaxation))


def _turning(survey: Survey, settings: Sequence[int]) -> Turning:
    per_job = tuple(setting for setting in settings for _ in survey.filters)
    return Turning(per_job, tuple(one.evening.site for one in survey.evenings))


def _price_an_hour(survey: Survey, goal: Goal) -> Values:
    """Price of an hour of each night; all 0 where it does not matter, all 1 where no site charges."""
    if goal == "soonest":
        return np.zeros(len(survey.evenings))
    currencies = sorted({site.currency for site in survey.sites if site.hour_price})
    if len(currencies) > 1:
        raise InputError(
            f"the cheapest timetable needs one currency, got {' and '.join(currencies)}; "
            "give all hour_price in one, or ask for the soonest"
        )
    if not currencies:
        return np.ones(len(survey.evenings))
    return np.array([_night_price(survey, night) for night in range(len(survey.evenings))])


def _prices(survey: Survey) -> list[tuple[float, str]]:
    """Price of an hour of each night, and its currency."""
    sites = [survey.sites[one.evening.site] for one in survey.evenings]
    return [(_night_price(survey, night), site.currency) for night, site in enumerate(sites)]


def _night_price(survey: Survey, night: int) -> float:
    evening = survey.evenings[night].evening
    return price_at(survey.sites[evening.site], evening.moon_illumination)


def _date_number(survey: Survey, night: int) -> int:
    return (survey.evenings[night].evening.date - survey.nights.first).days + 1


def _bound(survey: Survey, season: Season, filled: Filled, relaxation: Relaxation) -> Bound | None:
    total = relaxation.work_s
    missing, first, _ = rank(season, filled)
    if total <= 0.0:
        return None
    if missing > 0.0:
        most = total - relaxation.missing_s(season.order)
        return Bound("exposure_hours", (total - missing) / 3600.0, most / 3600.0)
    if season.soonest:
        return Bound("evenings", first, season.first_finish)
    least = relaxation.cost(season.order, [season.price[night] / 3600.0 for night in season.order])[1]
    charged = any(site.hour_price for site in survey.sites)
    return Bound("cost" if charged else "hours", first, least)


def _timetable(survey: Survey, season: Season, filled: Filled, goal: Goal, bound: Bound | None) -> Timetable:
    blocks = [_block(survey, night, one) for night in sorted(filled.blocks) for one in filled.blocks[night]]
    last = max((survey.evenings[block.night].evening.date for block in blocks), default=None)
    hours = sum(block.hours for block in blocks)
    missing = _missing(survey, season, filled)
    return Timetable(goal, tuple(blocks), missing, hours, _cost(survey, blocks), last, bound)


def _block(survey: Survey, night: int, placed: Placed) -> Block:
    panel, chosen = divmod(placed.job, len(survey.filters))
    side: Looking = "west" if placed.west else "east"
    looking = None if survey.flip_after_s is None else side
    return Block(night, panel, chosen, placed.exposures, placed.start_s, placed.end_s, looking)


def _cost(survey: Survey, blocks: Sequence[Block]) -> dict[str, float]:
    """Currency to cost, for the sites that charge."""
    evenings = ((block.hours, survey.evenings[block.night].evening) for block in blocks)
    spent = ((survey.sites[one.site], hours, one.moon_illumination) for hours, one in evenings)
    return cost_of_hours(survey.sites, spent)


def _missing(survey: Survey, season: Season, filled: Filled) -> tuple[Missing, ...]:
    left = filled.left + season.work.hopeless
    return tuple(
        Missing(*divmod(job, season.work.filters), int(left[job]), _reason(survey, season.work, job))
        for job in np.flatnonzero(left).tolist()
    )


def _reason(survey: Survey, work: Workload, job: int) -> str:
    """Say why exposures of a job found no place."""
    panel, chosen = divmod(job, work.filters)
    if not any((one.sight.panel == panel).any() for one in survey.evenings):
        return "never high enough in the dark"
    segments = (row for one in survey.evenings for row in one.segments)
    if not any(row.panel == panel and row.chosen == chosen for row in segments):
        return "in all its windows the Moon is too near or too bright, or the Sun too near"
    if not work.most[job]:
        return "no window is long enough for a block"
    return "no time left in the season"

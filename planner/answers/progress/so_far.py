"""What evenings came to so far: hours, cost, and how much of the timetable's time the sky was clear."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.night.almanac import make_almanac
from planner.night.clock import DAY_S, noon_s
from planner.night.evening import Evening, make_evening
from planner.night.prices import cost_of_hours
from planner.night.settings import Nights

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.frames.review.shots import Shots
    from planner.night.survey import Survey

__all__ = ["SoFar", "evening_of", "so_far"]

SiteEvening = tuple[int, dt.date]


@dataclass(frozen=True)
class SoFar:
    """What all dated frames came to, good or not.

    Parameters
    ----------
    evenings : int
        With frames; one date at two sites counts twice.
    last : datetime.date or None
        Evening of the last frame.
    hours : float
        Exposures and overheads.
    cost : dict
        Currency to cost, for the sites that charge.
    clear_fraction_met : float or None
        In [0, 1]: seconds exposed with stars seen, over the seconds that the timetable could have exposed under a
        sky that is always clear, on the evenings that have both; None where none has.
    waiting_hours : float
        What passed between exposures that followed each other, as far as a timetable reckons with it: with it hours
        are what the blocks of a timetable take.
    waiting_cost : dict
        Currency to what that cost.
    """

    evenings: int
    last: dt.date | None
    hours: float
    cost: dict[str, float]
    clear_fraction_met: float | None
    waiting_hours: float = 0.0
    waiting_cost: dict[str, float] = field(default_factory=dict)


def evening_of(time_s: float, zone: dt.tzinfo) -> dt.date:
    """Return the evening to which an instant belongs: the date of the noon before it, site time.

    >>> evening_of(0.0, dt.UTC), evening_of(43200.0, dt.UTC)
    (datetime.date(1969, 12, 31), datetime.date(1970, 1, 1))
    """
    return (dt.datetime.fromtimestamp(time_s, tz=zone).replace(tzinfo=None) - dt.timedelta(hours=12)).date()


def so_far(nights: NightsPlan, shots: Shots) -> SoFar:
    """Sum up frames against the nights of the whole plan.

    Parameters
    ----------
    nights : NightsPlan
        Of the plan as it was before the first frame.
    shots : Shots
    """
    sky = _Sky(nights.survey)
    rows: dict[SiteEvening, list[int]] = defaultdict(list)
    for number, start_s in enumerate(shots.start_s.tolist()):
        rows[sky.place_of(start_s)].append(number)
    hours = {place: _hours(shots, np.array(own), nights.survey.nights) for place, own in rows.items()}
    waited = {
        place: _waiting_hours(shots, np.array(own), nights.survey.nights) for place, own in rows.items()
    }
    return SoFar(
        evenings=len(rows),
        last=max((date for _, date in rows), default=None),
        hours=sum(hours.values()),
        cost=_cost(sky, hours),
        clear_fraction_met=_clear_fraction(nights, shots, rows),
        waiting_hours=sum(waited.values()),
        waiting_cost=_cost(sky, waited),
    )


class _Sky:
    """The evenings of a survey, and others made when they are asked for."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self._evenings = {(one.evening.site, one.evening.date): one.evening for one in survey.evenings}

    def place_of(self, time_s: float) -> SiteEvening:
        """Site and evening of a frame: of several sites the first at which it was dark then."""
        places = [(site, evening_of(time_s, one.zone)) for site, one in enumerate(self.survey.sites)]
        if len(places) == 1:
            return places[0]
        dark = (place for place in places if any(a <= time_s <= b for a, b in self.evening(place).dark_s))
        return next(dark, places[0])

    def evening(self, place: SiteEvening) -> Evening:
        if place not in self._evenings:
            self._evenings[place] = self._made(*place)
        return self._evenings[place]

    def _made(self, index: int, date: dt.date) -> Evening:
        """Return an evening outside the plan's season."""
        site, observer = self.survey.sites[index], self.survey.observers[index]
        noon = noon_s(date, site.zone)
        return make_evening(
            date,
            index=index,
            site=site,
            observer=observer,
            almanac=make_almanac(noon, noon + 1.5 * DAY_S),
            sun_limit_deg=self.survey.nights.sun_limit_deg,
        )


def _hours(shots: Shots, rows: NDArray[np.intp], nights: Nights) -> float:
    """Exposures of one evening with their overheads, hours."""
    each_s = nights.overhead_per_exposure_s
    runs = 1 + int(_runs(shots.panel[rows], shots.filter[rows])[-1])
    seconds = float(shots.exposure_s[rows].sum()) + each_s * len(rows)
    return seconds / 3600.0 + runs * nights.overhead_per_panel_min / 60.0


def _waiting_hours(shots: Shots, rows: NDArray[np.intp], nights: Nights) -> float:
    """What passed between the exposures of each run on one evening, hours, by the rule of a timetable's blocks.

    After an exposure and its overhead what passed until the next one of its run began, at most what a timetable adds
    for clouds; after a run's last one as much, in proportion, as after those before it.
    """
    each_s = shots.exposure_s[rows] + nights.overhead_per_exposure_s
    goes_on = np.diff(_runs(shots.panel[rows], shots.filter[rows])) == 0
    known_s, passed_s = each_s[:-1][goes_on], np.diff(shots.start_s[rows])[goes_on]
    waited_s = np.clip(passed_s - known_s, 0.0, known_s * (1.0 / nights.clear_fraction - 1.0))
    share = float(waited_s.sum() / known_s.sum()) if known_s.sum() > 0.0 else 0.0
    return share * float(each_s.sum()) / 3600.0


def _runs(panel: NDArray[np.intp], chosen: NDArray[np.intp]) -> NDArray[np.intp]:
    """Number each frame's run of one panel through one filter; one that shows no panel belongs to the run before it.

    >>> _runs(np.array([0, 0, -1, 1, 1]), np.array([0, 0, 0, 0, 1])).tolist()
    [0, 0, 0, 1, 2]
    """
    known = np.where(panel >= 0, np.arange(len(panel)), -1)
    latest = np.maximum.accumulate(known)
    first = panel[known[known >= 0][0]] if (known >= 0).any() else -1
    place = np.where(latest >= 0, panel[np.maximum(latest, 0)], first)
    return np.concatenate([[0], np.cumsum((np.diff(place) != 0) | (np.diff(chosen) != 0))]).astype(np.intp)


def _cost(sky: _Sky, hours: dict[SiteEvening, float]) -> dict[str, float]:
    sites = sky.survey.sites
    spent = ((sites[place[0]], spent, sky.evening(place).moon_illumination) for place, spent in hours.items())
    return cost_of_hours(sites, spent)


def _clear_fraction(
    nights: NightsPlan, shots: Shots, rows: dict[SiteEvening, Sequence[int]] | dict[SiteEvening, list[int]]
) -> float | None:
    offered = _offered_s(nights)
    both = [place for place in rows if offered[place] > 0.0]
    if not both:
        return None
    seen = np.where(shots.solved, shots.exposure_s, 0.0)
    exposed = sum(float(seen[rows[place]].sum()) for place in both)
    return min(1.0, exposed / sum(offered[place] for place in both))


def _offered_s(nights: NightsPlan) -> Counter[SiteEvening]:
    """Seconds that the timetable's blocks would expose under a sky that is always clear."""
    offered: Counter[SiteEvening] = Counter()
    survey = nights.survey
    for block in nights.timetable.blocks if nights.timetable else ():
        evening = survey.evenings[block.night].evening
        seconds = block.exposures * survey.filters[block.chosen].exposure_s
        offered[evening.site, evening.date] += seconds / survey.nights.clear_fraction  # type: ignore[assignment]
    return offered

"""Hours that many places can be shot in a season: what a survey of the season adds up to, without its windows.

A survey looks at every place minute by minute. Here the hour angles at which a place passes the site's limits are
known from the start, and each evening only the few minutes at the edges are looked at: edges lie on the same chords
between the same minutes, so that the seconds are the same.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.halves import in_halves
from planner.night.almanac import Almanac, make_almanac
from planner.night.clock import DAY_S, noon_s
from planner.night.evening import Evening, make_evening
from planner.night.moon_rule import MoonRule, moon_rule
from planner.night.observer import Observer, celestial_axes, make_observer
from planner.night.settings import Filter, Nights, Site
from planner.progress import Progress

from .reach_arcs import ReachArcs, in_reach_of, reach_arcs
from .season_spans import Spans, dark_windows, lengths_cut, near_moon_spans, near_sun, transits

__all__ = ["SeasonHours", "season_hours"]

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SeasonHours:
    """Seconds that places can be shot, evening by evening, over all sites.

    Parameters
    ----------
    evenings : tuple of datetime.date
    any_s : ndarray of int, shape (N, E)
        In the dark and above the limits.
    filter_s : ndarray of int, shape (F, N, E)
        Through each filter: far enough from Moon and Sun too, in whole seconds between flips.
    illumination : ndarray, shape (E,)
        Of the Moon, as prices and filters go by it, at the first site.
    dec_deg : ndarray, shape (N,)
        Declinations of date in the middle of the season.
    in_reach : ndarray of bool, shape (N,)
        Which places rise above the limits of a site at all, by day or night.
    dark_s : float
        Darkness in all, over evenings and sites.
    """

    evenings: tuple[dt.date, ...]
    any_s: NDArray[np.int64]
    filter_s: NDArray[np.int64]
    illumination: Array
    dec_deg: Array
    in_reach: NDArray[np.bool_]
    dark_s: float


def season_hours(
    vectors: Array,
    sites: Sequence[Site],
    nights: Nights,
    filters: Sequence[Filter] = (),
    *,
    flip_after_s: float | None = 0.0,
    progress: Progress | None = None,
) -> SeasonHours:
    """Add up how long places can be shot on each evening of a season.

    Parameters
    ----------
    vectors : ndarray, shape (N, 3)
        Unit vectors of the places, ICRS.
    sites : sequence of Site
    nights : Nights
    filters : sequence of Filter
    flip_after_s : float or None
        How long after a transit the mount flips; None: it never flips.
    progress : callable, optional
    """
    places = [noon_s(date, site.zone) for site in sites for date in (nights.first, nights.last)]
    almanac = make_almanac(min(places), max(places) + 1.5 * DAY_S)
    count, evenings = len(vectors), nights.evenings
    any_s = np.zeros((count, len(evenings)), dtype=np.int64)
    filter_s = np.zeros((len(filters), count, len(evenings)), dtype=np.int64)
    illumination, dark_s = np.zeros(len(evenings)), 0.0
    in_reach, dec_rad = np.zeros(count, dtype=bool), np.zeros(count)
    for number, site in enumerate(sites):
        whole = _SiteSeason(vectors, site, nights, tuple(filters), almanac, flip_after_s)
        dec_rad = whole.dec_rad
        in_reach[whole.arcs.row] = True
        some = np.flatnonzero(in_reach_of(whole.arcs))
        season = _SiteSeason(vectors[some], site, nights, tuple(filters), almanac, flip_after_s)
        for night, one in enumerate(_nights(season, evenings, progress)):
            any_s[some, night] += one.any_s
            for chosen, seconds in enumerate(one.filter_s):
                filter_s[chosen, some, night] += seconds
            dark_s += one.dark_s
            if number == 0:
                illumination[night] = one.illumination
    in_reach |= any_s.any(axis=1)
    return SeasonHours(evenings, any_s, filter_s, illumination, np.degrees(dec_rad), in_reach, dark_s)


@dataclass(frozen=True, eq=False)
class _Night:
    """One evening at one site: seconds of all places, darkness and Moon."""

    any_s: NDArray[np.int64]
    filter_s: list[NDArray[np.int64]]
    dark_s: float
    illumination: float


def _nights(season: _SiteSeason, evenings: Sequence[dt.date], progress: Progress | None) -> list[_Night]:
    """Return every evening; two processes share them where they may."""

    def work(dates: Sequence[dt.date], here: bool) -> list[_Night]:
        found = []
        for number, date in enumerate(dates):
            if progress is not None and here:
                progress("adding up hours", number / len(dates))
            evening = season.evening(date)
            windows = season.windows(evening)
            seconds = windows.seconds(len(season.vectors))
            filters = season.filter_seconds(evening, windows)
            found.append(_Night(seconds, filters, 3600.0 * evening.dark_hours, evening.moon_illumination))
        return found

    return in_halves(work, evenings, least=60)


@dataclass(frozen=True, eq=False)
class _SiteSeason:
    """A season at one site, with the arcs of all places."""

    vectors: Array
    site: Site
    nights: Nights
    filters: tuple[Filter, ...]
    almanac: Almanac
    flip_after_s: float | None
    observer: Observer = field(init=False)
    dec_rad: Array = field(init=False)
    arcs: ReachArcs = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "observer", make_observer(self.site))
        middle = (noon_s(self.nights.first, self.site.zone) + noon_s(self.nights.last, self.site.zone)) / 2
        stars = self.almanac.apparent(self.vectors, middle) @ celestial_axes(middle).T
        object.__setattr__(self, "dec_rad", np.arcsin(np.clip(stars[:, 2], -1.0, 1.0)))
        object.__setattr__(self, "arcs", reach_arcs(self.site, self.dec_rad))

    def evening(self, date: dt.date) -> Evening:
        """Darkness and Moon of an evening."""
        return make_evening(
            date,
            index=0,
            site=self.site,
            observer=self.observer,
            almanac=self.almanac,
            sun_limit_deg=self.nights.sun_limit_deg,
        )

    def windows(self, evening: Evening) -> Spans:
        """Whole seconds in which places stand above the limits in the dark."""
        found = [
            dark_windows(self.vectors, span, self.site, self.observer, self.almanac, evening.axes, self.arcs)
            for span in evening.dark_s
        ]
        return Spans.joined(found)

    def filter_seconds(self, evening: Evening, windows: Spans) -> list[NDArray[np.int64]]:
        """Seconds of every place through each filter."""
        rules = [moon_rule(chosen) for chosen in self.filters]
        if not rules:
            return []
        away = windows
        for span in evening.dark_s:
            away = away.without(near_sun(self.vectors, span, self.almanac))
        transit = transits(self.vectors, evening, self.observer, self.almanac)
        seconds = {}
        for rule in dict.fromkeys(rules):
            kept = self._allowed(evening, away, rule)
            seconds[rule] = lengths_cut(kept, transit, self.flip_after_s, len(self.vectors))
        return [seconds[rule] for rule in rules]

    def _allowed(self, evening: Evening, windows: Spans, rule: MoonRule) -> Spans:
        """Windows less the time in which the Moon is up and breaks the rule."""
        if rule == MoonRule() or not len(windows.row):
            return windows
        rows = np.unique(windows.row)
        for up in evening.moon_s:
            if evening.moon_illumination > rule.illumination:
                windows = windows.without(Spans.same(rows, up))
                continue
            for span in evening.dark_s:
                if min(span[1] + 1.0, up[1]) <= max(span[0] - 1.0, up[0]):
                    continue
                near = near_moon_spans(
                    self.vectors, rows, span, self.observer, self.almanac, evening.axes, rule.separation_deg
                )
                windows = windows.without(near.within(up))
        return windows

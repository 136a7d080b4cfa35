"""A season surveyed: every evening at every site, with the windows of every panel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import sky_to_vector
from planner.progress import Progress

from .almanac import Almanac, make_almanac
from .clock import DAY_S, noon_s
from .evening import Evening, make_evening
from .observer import Observer, make_observer
from .segments import Segment, find_segments
from .settings import Filter, Nights, Site
from .visibility import Visibility, look, sample

__all__ = ["SiteEvening", "Survey", "Targets", "survey_season"]


@dataclass(frozen=True)
class Targets:
    """The panels, as far as nights are concerned.

    Parameters
    ----------
    names : tuple of str
    ra_deg, dec_deg : ndarray, shape (N,)
        Centres, ICRS degrees.
    radius_deg : float
        From a panel's centre to its corner.
    """

    names: tuple[str, ...]
    ra_deg: NDArray[np.float64]
    dec_deg: NDArray[np.float64]
    radius_deg: float = 0.0

    def __len__(self) -> int:
        return len(self.names)

    @property
    def vectors(self) -> NDArray[np.float64]:
        """Unit vectors, ICRS, shape (N, 3)."""
        return sky_to_vector(self.ra_deg, self.dec_deg)


@dataclass(frozen=True)
class SiteEvening:
    """One evening at one site: the sky, the windows, the segments for each filter."""

    evening: Evening
    sight: Visibility
    segments: tuple[Segment, ...]


@dataclass(frozen=True)
class Survey:
    """A season surveyed; make it with `survey_season`.

    Parameters
    ----------
    evenings : tuple of SiteEvening
        By date, then by site.
    flip_after_s : float or None
        How long after a transit the mount flips; None: it never flips.
    """

    targets: Targets
    sites: tuple[Site, ...]
    nights: Nights
    filters: tuple[Filter, ...]
    flip_after_s: float | None
    almanac: Almanac
    observers: tuple[Observer, ...]
    evenings: tuple[SiteEvening, ...]

    def site_of(self, night: int) -> Site:
        """Return the site of an evening, by its index."""
        return self.sites[self.evenings[night].evening.site]

    def filter_seconds(self, night: int) -> NDArray[np.int64]:
        """Seconds in which each panel can be shot through each filter on an evening, shape (panels, filters)."""
        seconds = np.zeros((len(self.targets), len(self.filters)), dtype=np.int64)
        for row in self.evenings[night].segments:
            seconds[row.panel, row.chosen] += row.end_s - row.start_s
        return seconds


def survey_season(
    targets: Targets,
    sites: Sequence[Site],
    nights: Nights,
    filters: Sequence[Filter] = (),
    *,
    flip_after_s: float | None = 0.0,
    progress: Progress | None = None,
) -> Survey:
    """Survey a season at one or several sites.

    Parameters
    ----------
    flip_after_s : float or None
        How long after a transit the mount flips; None: it never flips.

    Raises
    ------
    InputError
        If two sites have one name.
    """
    _check_names(sites)
    almanac = make_almanac(*_span(sites, nights))
    observers = tuple(make_observer(site) for site in sites)
    survey = Survey(targets, tuple(sites), nights, tuple(filters), flip_after_s, almanac, observers, ())
    evenings: list[SiteEvening] = []
    for number, date in enumerate(nights.evenings):
        if progress:
            progress("surveying the nights", number / len(nights.evenings))
        for index, (site, observer) in enumerate(zip(sites, observers, strict=True)):
            evening = make_evening(
                date,
                index=index,
                site=site,
                observer=observer,
                almanac=almanac,
                sun_limit_deg=nights.sun_limit_deg,
            )
            evenings.append(_survey_evening(survey, evening))
    return Survey(
        targets, tuple(sites), nights, tuple(filters), flip_after_s, almanac, observers, tuple(evenings)
    )


def _survey_evening(survey: Survey, evening: Evening) -> SiteEvening:
    site, observer = survey.sites[evening.site], survey.observers[evening.site]
    vectors = survey.targets.vectors
    samples = [sample(span, vectors, observer, survey.almanac, evening.axes) for span in evening.dark_s]
    sight = look(evening, samples, vectors, site=site, observer=observer, almanac=survey.almanac)
    segments = find_segments(evening, samples, sight, survey.filters, survey.flip_after_s)
    return SiteEvening(evening, sight, segments)


def _span(sites: Sequence[Site], nights: Nights) -> tuple[float, float]:
    """First noon and a day past the last, over all sites."""
    return (
        min(noon_s(nights.first, site.zone) for site in sites),
        max(noon_s(nights.last, site.zone) for site in sites) + 1.5 * DAY_S,
    )


def _check_names(sites: Sequence[Site]) -> None:
    names = [site.name for site in sites]
    if not names:
        raise InputError("the nights need a site, got none; add a table [site] with latitude and longitude")
    doubled = sorted({name for name in names if names.count(name) > 1})
    if doubled:
        raise InputError(f"every site needs a name of its own, got {doubled[0]!r} twice; rename one")

"""One evening at one site, noon to noon: darkness and Moon."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .almanac import Almanac, illuminated_fraction
from .clock import noon_s
from .observer import Observer, celestial_axes
from .settings import Site
from .spans import Span, length_s, spans_where

__all__ = ["STEP_S", "Evening", "make_evening", "moon_vector_km", "steps"]

STEP_S = 60.0
"""Step of the samples; what is shorter than a step may be missed."""

Vectors = NDArray[np.float64]


@dataclass(frozen=True)
class Evening:
    """An evening at a site, from noon to noon, site time.

    Parameters
    ----------
    date : datetime.date
    site : int
        Index of the site.
    span_s : (float, float)
        Noon to noon, POSIX seconds.
    dark_s : tuple of (float, float)
        Spans with the Sun's centre at or below the limit; more than one where the zone's noon is far from the
        Sun's.
    moon_s : tuple of (float, float)
        Spans with the Moon's centre (topocentric) at or above altitude 0.
    moon_illumination : float
        Illuminated part of the disc as seen from the site at the middle of the dark time (of the noon-to-noon
        span where there is none).
    axes : ndarray, shape (3, 3)
        `celestial_axes` at the middle of the span.
    """

    date: dt.date
    site: int
    span_s: Span
    dark_s: tuple[Span, ...]
    moon_s: tuple[Span, ...]
    moon_illumination: float
    axes: Vectors

    @property
    def middle_s(self) -> float:
        """Middle of the dark time, or of the span where there is none."""
        spans = self.dark_s or (self.span_s,)
        return (spans[0][0] + spans[-1][1]) / 2.0

    @property
    def dark_hours(self) -> float:
        """Length of the dark time in hours."""
        return length_s(self.dark_s) / 3600.0


def make_evening(
    date: dt.date, *, index: int, site: Site, observer: Observer, almanac: Almanac, sun_limit_deg: float
) -> Evening:
    """Find darkness and Moon of an evening; Sun and Moon topocentric, altitudes geometric.

    Parameters
    ----------
    index : int
        Index of the site, kept in the result.
    sun_limit_deg : float
        Greatest altitude of the Sun's centre in the dark.
    """
    span = noon_s(date, site.zone), noon_s(date + dt.timedelta(days=1), site.zone)
    axes = celestial_axes((span[0] + span[1]) / 2.0)
    limit = np.sin(np.radians(sun_limit_deg))

    def margins(time: NDArray[np.float64]) -> Vectors:
        zenith = observer.zenith(time, axes)
        place = observer.position_km(time, axes)
        sines = [_sine(zenith, body - place) for body in (almanac.sun_km(time), almanac.moon_km(time))]
        return np.stack([limit - sines[0], sines[1]])

    time = steps(span)
    rows, spans = spans_where(margins(time), time, lambda rows, t: margins(t)[rows, np.arange(len(t))])
    dark, moon = (tuple((float(a), float(b)) for a, b in spans[rows == row]) for row in (0, 1))
    evening = Evening(date, index, span, dark, moon, 0.0, axes)
    light = _illumination(evening, observer, almanac)
    return Evening(date, index, span, dark, moon, light, axes)


def moon_vector_km(
    time_s: NDArray[np.float64], observer: Observer, almanac: Almanac, axes: Vectors
) -> Vectors:
    """Vectors from the observer to the Moon, kilometres, shape (..., 3)."""
    return almanac.moon_km(time_s) - observer.position_km(time_s, axes)


def steps(span: Span) -> NDArray[np.float64]:
    """Instants a step apart from the start of a span, and its end."""
    start, end = span
    return np.append(np.arange(start, end - 1e-3, STEP_S), end)


def _illumination(evening: Evening, observer: Observer, almanac: Almanac) -> float:
    middle = np.array([evening.middle_s])
    place = observer.position_km(middle, evening.axes)
    moon, sun = almanac.moon_km(middle) - place, almanac.sun_km(middle) - place
    return float(illuminated_fraction(moon, sun)[0])


def _sine(zenith: Vectors, body: Vectors) -> NDArray[np.float64]:
    """Sine of the altitude of bodies, shape (T,)."""
    return np.asarray(np.sum(zenith * body, axis=-1) / np.linalg.norm(body, axis=-1))

"""Which panels stand high enough on an evening, when, and how far from the Moon."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .almanac import Almanac
from .evening import Evening, moon_vector_km, steps
from .horizon import highest_limit_deg, limit_deg
from .observer import SIDEREAL_RAD_S, TURN_S, Observer
from .settings import Site
from .spans import Span, spans_where

__all__ = ["Samples", "Visibility", "look", "sample"]

Vectors = NDArray[np.float64]


@dataclass(frozen=True)
class Samples:
    """Curves over one dark span, a minute apart.

    Parameters
    ----------
    time_s : ndarray, shape (T,)
    stars : ndarray, shape (N, 3)
        Apparent unit vectors of the panels' centres.
    altitude_sine : ndarray, shape (N, T)
    moon_cosine : ndarray, shape (N, T)
        Cosine of the angle between panel and Moon, topocentric.
    sun : ndarray, shape (3,)
        Unit vector to the Sun at the middle of the span.
    """

    time_s: NDArray[np.float64]
    stars: Vectors
    altitude_sine: Vectors
    moon_cosine: Vectors
    sun: Vectors


@dataclass(frozen=True)
class Visibility:
    """Windows of all panels on one evening.

    Parameters
    ----------
    panel : ndarray of int, shape (W,)
        Index of each window's panel, rising.
    window_s : ndarray of int, shape (W, 2)
        POSIX seconds; rounded to whole seconds inside the exact window.
    transit_s : ndarray, shape (N,)
        Upper transit nearest to the middle of the dark time.
    best_s : ndarray, shape (N,)
        When the panel stands highest in its windows; NaN without any.
    greatest_altitude_deg, least_moon_separation_deg : ndarray, shape (N,)
        Over the panel's windows; NaN without any.
    """

    panel: NDArray[np.int64]
    window_s: NDArray[np.int64]
    transit_s: NDArray[np.float64]
    best_s: NDArray[np.float64]
    greatest_altitude_deg: NDArray[np.float64]
    least_moon_separation_deg: NDArray[np.float64]

    def windows_of(self, panel: int) -> list[Span]:
        """Windows of one panel, POSIX seconds."""
        first, last = np.searchsorted(self.panel, [panel, panel + 1])
        return [(int(a), int(b)) for a, b in self.window_s[first:last]]


def sample(span_s: Span, vectors: Vectors, observer: Observer, almanac: Almanac, axes: Vectors) -> Samples:
    """Sample altitudes and moon separations of panels over a dark span.

    Parameters
    ----------
    vectors : ndarray, shape (N, 3)
        Unit vectors of the panels' centres, ICRS.
    """
    time = steps(span_s)
    middle = (span_s[0] + span_s[1]) / 2.0
    stars = almanac.apparent(vectors, middle)
    zenith = observer.zenith(time, axes)
    moon = moon_vector_km(time, observer, almanac, axes)
    moon /= np.linalg.norm(moon, axis=-1, keepdims=True)
    sun = almanac.sun_km(middle)
    return Samples(time, stars, stars @ zenith.T, stars @ moon.T, sun / np.linalg.norm(sun))


def look(
    evening: Evening,
    samples: Sequence[Samples],
    vectors: Vectors,
    *,
    site: Site,
    observer: Observer,
    almanac: Almanac,
) -> Visibility:
    """Find the windows of panels on an evening.

    Parameters
    ----------
    samples : sequence of Samples
        One for each of the evening's dark spans.
    vectors : ndarray, shape (N, 3)
        Unit vectors of the panels' centres, ICRS.
    """
    found = [_windows(one, site, observer, evening.axes) for one in samples]
    panel = np.concatenate([rows for rows, _ in found] or [np.empty(0, int)])
    window = np.concatenate([spans for _, spans in found] or [np.empty((0, 2), int)])
    order = np.lexsort((window[:, 0], panel))
    panel, window = panel[order], window[order]
    stars = almanac.apparent(vectors, evening.middle_s)
    transit = _transits(stars, evening, observer)
    nearest = transit[panel] + TURN_S * np.round((window.mean(axis=1) - transit[panel]) / TURN_S)
    times = np.stack([np.clip(nearest, *window.T), *window.T])
    best, altitude = _highest(panel, times, stars, observer, evening.axes)
    moon = _nearest_moon(panel, window, samples, len(vectors))
    return Visibility(panel, window, transit, best, altitude, moon)


def _windows(
    samples: Samples, site: Site, observer: Observer, axes: Vectors
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows and whole-second windows of the panels that stand above lowest altitude and horizon."""
    lowest = np.sin(np.radians(site.lowest_altitude_deg))

    def exact(rows: NDArray[np.int64], time: NDArray[np.float64]) -> NDArray[np.float64]:
        if not site.horizon_deg:
            sine = np.einsum("si,si->s", samples.stars[rows], observer.zenith(time, axes))
            return np.asarray(sine - lowest)
        return _margin(samples.stars[rows], observer.basis(time, axes), site)

    margin = samples.altitude_sine - lowest
    highest = np.sin(np.radians(highest_limit_deg(site)))
    if site.horizon_deg:
        rows, places = np.nonzero((margin >= -0.01) & (samples.altitude_sine < highest))
        basis = observer.basis(samples.time_s, axes)
        margin[rows, places] = _margin(samples.stars[rows], basis[places], site)
    rows, spans = spans_where(margin, samples.time_s, exact)
    whole = np.stack([np.ceil(spans[:, 0]), np.floor(spans[:, 1])], axis=-1).astype(np.int64)
    keep = whole[:, 0] < whole[:, 1]
    return rows[keep], whole[keep]


def _margin(stars: Vectors, basis: Vectors, site: Site) -> NDArray[np.float64]:
    """Sine of the altitude less the sine of the limit in that direction, shape (S,)."""
    up, north, east = np.moveaxis(np.einsum("sij,sj->si", basis, stars), -1, 0)
    limit = limit_deg(site, np.degrees(np.arctan2(east, north)))
    return np.asarray(up - np.sin(np.radians(limit)))


def _transits(stars: Vectors, evening: Evening, observer: Observer) -> NDArray[np.float64]:
    """Upper transits nearest to the middle of the dark time."""
    middle = evening.middle_s
    return np.asarray(middle - observer.hour_angle_rad(stars, middle, evening.axes) / SIDEREAL_RAD_S)


def _highest(
    panel: NDArray[np.int64], times_s: Vectors, stars: Vectors, observer: Observer, axes: Vectors
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """When each panel stands highest in its windows, and how high in degrees.

    An altitude has its greatest value in a window at the transit, if that lies inside, or at an end: those
    are the rows of `times_s`, shape (3, W).
    """
    best, greatest = np.full(len(stars), np.nan), np.full(len(stars), np.nan)
    sines = np.einsum("si,rsi->rs", stars[panel], observer.zenith(times_s, axes))
    rows, places = np.unravel_index(np.argsort(sines, axis=None), sines.shape)
    best[panel[places]], greatest[panel[places]] = times_s[rows, places], sines[rows, places]
    return best, np.degrees(np.arcsin(np.clip(greatest, -1.0, 1.0)))


def _nearest_moon(
    panel: NDArray[np.int64], window_s: NDArray[np.int64], samples: Sequence[Samples], count: int
) -> NDArray[np.float64]:
    """Least angle between panel and Moon over the panel's windows, degrees; NaN without any."""
    greatest = np.full(count, -2.0)
    for one in samples:
        first = np.searchsorted(one.time_s, window_s[:, 0] - 1.0)
        last = np.searchsorted(one.time_s, window_s[:, 1] + 1.0)
        for row, a, b in zip(panel, first, last, strict=True):
            if a < b:
                greatest[row] = max(greatest[row], one.moon_cosine[row, a:b].max())
    return np.where(greatest < -1.5, np.nan, np.degrees(np.arccos(np.clip(greatest, -1.0, 1.0))))

"""Hours under the Moon as hours at a dark sky: those that would give the same ratio of signal to noise.

Where the noise of an exposure is that of the sky, the ratio grows with the square root of time over brightness: an
hour under a sky of twice the brightness is worth half an hour. In a broad band the sky is as bright as the model of
moonlight has it in V. A narrow band lets through a share of the moonlight, its width over that of V; whatever else
makes noise there, camera and nebula among it, is taken to come to what the dark sky gives in a broad band. With a
camera that adds no noise a narrow band would suffer as a broad one does, so its hours are an upper bound.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import separation_rad

from .almanac import illuminated_fraction, make_almanac
from .clock import DAY_S
from .evening import moon_vector_km
from .moonlight import moon_phase_angle_deg, moonlight_mag
from .observer import Observer, above_horizon_deg, celestial_axes, make_observer
from .settings import YEARS, Filter, Site

__all__ = ["NARROW_NM", "V_NM", "Exposed", "dark_sky_share", "dark_sky_shares", "passed_share"]

V_NM = 88.0
"""Full width at half maximum of the V band, nanometres (Binney & Merrifield 1998, table 2.1; from memory)."""
NARROW_NM = 7.0
"""Width of a narrow band where the plan gives none: common practice, no source."""
SAMPLE_S = 900.0
MOST_SAMPLES = 16
"""An exposure is looked at once in each quarter of an hour, a long one at most so often."""
APART_S = 10.0 * DAY_S
"""Exposures farther apart than this have almanacs of their own."""

FIRST_S, LAST_S = (dt.datetime(year, 1, 1, tzinfo=dt.UTC).timestamp() for year in (YEARS[0] + 1, YEARS[1]))
"""Dates outside of these are those of a clock that was not set."""

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Exposed:
    """N exposures.

    Parameters
    ----------
    start_s : ndarray, shape (N,)
        POSIX seconds; NaN where it is not known.
    seconds : ndarray, shape (N,)
    vectors : ndarray, shape (N, 3)
        Unit vectors to their centres, ICRS.
    passed : ndarray, shape (N,)
        Share of moonlight that counts, see `passed_share`.
    """

    start_s: Values
    seconds: Values
    vectors: Values
    passed: Values

    def chosen(self, which: NDArray[np.intp]) -> Exposed:
        """Return some of them, by their numbers."""
        return Exposed(self.start_s[which], self.seconds[which], self.vectors[which], self.passed[which])


def passed_share(chosen: Filter) -> float:
    """Share of moonlight that counts through a filter: 1 for broad bands, else its width over that of V.

    >>> passed_share(Filter("L", "broad", 180, 40)), passed_share(Filter("Ha", "narrow", 600, 18, width_nm=4.4))
    (1.0, 0.05)
    """
    return 1.0 if chosen.band == "broad" else min(1.0, (chosen.width_nm or NARROW_NM) / V_NM)


def dark_sky_share(brightening_mag: ArrayLike, passed: ArrayLike) -> Values:
    """Hours at a dark sky that an hour is worth, in (0, 1].

    Parameters
    ----------
    brightening_mag : array_like
        By how much moonlight brightens the sky in V, magnitudes.
    passed : array_like
        Share of moonlight that counts.
    """
    moon_over_dark = 10.0 ** (0.4 * np.asarray(brightening_mag, dtype=float)) - 1.0
    return np.asarray(1.0 / (1.0 + np.asarray(passed) * moon_over_dark))


def dark_sky_shares(exposed: Exposed, sites: tuple[Site, ...]) -> Values:
    """Hours at a dark sky that an hour of each exposure is worth, shape (N,), in (0, 1].

    NaN where that cannot be told: no date, or nothing of the place above any site's horizon then. Of several sites
    the one counts at which the place stands highest.

    Parameters
    ----------
    exposed : Exposed
    sites : tuple of Site
        At least one.
    """
    shares = np.full(len(exposed.start_s), np.nan)
    observers = [make_observer(site) for site in sites]
    for run in _runs(exposed):
        part = exposed.chosen(run)
        found = [_seen_from(observer, part) for observer in observers]
        altitude, share = (np.stack([one[row] for one in found]) for row in (0, 1))
        best = np.argmax(altitude, axis=0), np.arange(len(run))
        shares[run] = np.where(altitude[best] > 0.0, share[best], np.nan)
    return shares


def _runs(exposed: Exposed) -> list[NDArray[np.intp]]:
    """Numbers of exposures with a usable date, by date, apart where nothing was exposed for long."""
    usable = np.flatnonzero((exposed.start_s >= FIRST_S) & (exposed.start_s < LAST_S))
    order = usable[np.argsort(exposed.start_s[usable], kind="stable")]
    breaks = np.flatnonzero(np.diff(exposed.start_s[order]) > APART_S) + 1
    return [run for run in np.split(order, breaks) if len(run)]


def _seen_from(observer: Observer, exposed: Exposed) -> tuple[Values, Values]:
    """Mean altitude, degrees, and mean share of each exposure, shape (N,) each."""
    number, time = _samples(exposed)
    stars, (zenith, moon, phase_deg) = exposed.vectors[number], _sky(observer, time)
    altitude, moon_altitude = above_horizon_deg(stars, zenith), above_horizon_deg(moon, zenith)
    separation = np.degrees(separation_rad(stars, moon))
    extra = moonlight_mag(np.maximum(altitude, 0.0), moon_altitude, separation, phase_deg)
    share, counts = dark_sky_share(extra, exposed.passed[number]), np.bincount(number)
    return np.bincount(number, altitude) / counts, np.bincount(number, share) / counts


def _samples(exposed: Exposed) -> tuple[NDArray[np.intp], Values]:
    """Numbers of exposures and the instants at which they are looked at: evenly, in the middle of equal parts."""
    seconds = np.minimum(exposed.seconds, DAY_S)
    counts = np.clip(np.ceil(seconds / SAMPLE_S), 1, MOST_SAMPLES).astype(np.intp)
    number = np.repeat(np.arange(len(counts)), counts)
    place = np.arange(len(number)) - np.repeat(np.cumsum(counts) - counts, counts)
    return number, exposed.start_s[number] + seconds[number] * (place + 0.5) / counts[number]


def _sky(observer: Observer, time: Values) -> tuple[Values, Values, Values]:
    """Unit vectors to zenith and Moon, shape (M, 3), and the Moon's phase angle, degrees, 0 when full."""
    almanac, axes = make_almanac(float(time.min()), float(time.max())), celestial_axes(float(time.mean()))
    moon = moon_vector_km(time, observer, almanac, axes)
    lit = illuminated_fraction(moon, almanac.sun_km(time) - observer.position_km(time, axes))
    towards = moon / np.linalg.norm(moon, axis=-1, keepdims=True)
    return observer.zenith(time, axes), towards, moon_phase_angle_deg(lit)

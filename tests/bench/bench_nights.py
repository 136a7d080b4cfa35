"""Nights: a year by the minute against astropy, and timetables against their bounds.

astropy does what a careful user would do with it: for each night one vectorised transformation of all panels and
dark minutes to AltAz; for the whole work, with its interpolation of the Earth's motion switched on, also the Sun
and the Moon by the minute and the Moon's separation. It is timed on nights spread over the year and scaled up;
the windows of those nights are compared, so both do the same work. Times are of the processor.
"""

from __future__ import annotations

import datetime as dt
import time
import warnings
from typing import Any, NamedTuple

import numpy as np

from planner.geometry import sky_to_vector
from planner.night.dark_sky import Exposed, dark_sky_shares
from planner.night.settings import Filter, Nights, Site
from planner.night.survey import Survey, Targets, survey_season
from planner.night.timetable import Goal, arrange
from tests.night.sky_oracle import ephemeris, observe

YEAR = Nights(dt.date(2027, 1, 1), dt.date(2027, 12, 31))
KAROO = Site(
    -31.2, 22.6, "Karoo pier", 1750, "Africa/Johannesburg", 30, hour_price=((0.0, 880.0), (0.55, 540.0))
)
SAMPLE_NIGHTS = 8
FRAMES = 3000
EDGE_S = 10.0


def run() -> list[dict[str, Any]]:
    """Measure all."""
    return [*_year_rows(), _moonlight_row(), *_timetable_rows()]


def _grid(columns: int, rows: int, step_deg: tuple[float, float]) -> Targets:
    number = np.arange(columns * rows)
    ra = 128.0 + step_deg[0] * (number % columns - (columns - 1) / 2)
    dec = -45.0 + step_deg[1] * (number // columns - (rows - 1) / 2)
    return Targets(tuple(f"P{one + 1}" for one in number), ra, dec, 1.9)


def _year_rows() -> list[dict[str, Any]]:
    targets = _grid(10, 10, (2.0, 1.5))
    started = time.process_time()
    survey = survey_season(targets, [KAROO], YEAR)
    ours_s = time.process_time() - started
    nights = np.linspace(0, len(YEAR.evenings) - 1, SAMPLE_NIGHTS).round().astype(int).tolist()
    _by_astropy(survey, nights[0])
    theirs = [_by_astropy(survey, night) for night in nights]
    off_s = max(_difference_s(survey, night, one.windows) for night, one in zip(nights, theirs, strict=True))
    assert off_s < EDGE_S, f"windows differ by {off_s:.1f} s"
    note = f"astropy {SAMPLE_NIGHTS} nights scaled to 365; edges agree to {off_s:.1f} s"
    scale = len(YEAR.evenings) / SAMPLE_NIGHTS
    whole_s, panels_s = (
        scale * sum(one.whole_s for one in theirs),
        scale * sum(one.panels_s for one in theirs),
    )
    return [
        _row("year by minute, 100 panels, against AltAz of panels alone", ours_s, panels_s, note),
        _row("year by minute, 100 panels, against astropy for all of it", ours_s, whole_s, note),
    ]


def _row(name: str, ours_s: float, other_s: float, note: str) -> dict[str, Any]:
    return {"name": name, "ours_s": ours_s, "other_s": other_s, "ratio": other_s / ours_s, "note": note}


class _Astropy(NamedTuple):
    """Windows by panel, and seconds: of everything, and of one plain transformation of the panels alone."""

    windows: list[tuple[float, float] | None]
    whole_s: float
    panels_s: float


def _by_astropy(survey: Survey, night: int) -> _Astropy:
    from astropy import units as u
    from astropy.coordinates import AltAz, EarthLocation, SkyCoord, get_body
    from astropy.coordinates.erfa_astrom import ErfaAstromInterpolator, erfa_astrom
    from astropy.time import Time
    from astropy.utils import iers

    iers.conf.auto_download = False
    iers.conf.auto_max_age = None
    iers.conf.iers_degraded_accuracy = "warn"
    place = EarthLocation.from_geodetic(KAROO.longitude_deg, KAROO.latitude_deg, KAROO.elevation_m)
    span, targets = survey.evenings[night].evening.span_s, survey.targets
    minutes = np.arange(span[0], span[1] + 1, 60.0)
    with warnings.catch_warnings(), erfa_astrom.set(ErfaAstromInterpolator(300 * u.s)):
        warnings.simplefilter("ignore")  # polar motion of the future
        started = time.process_time()
        level = AltAz(obstime=Time(minutes, format="unix"), location=place)
        sun = get_body("sun", level.obstime, place).transform_to(level).alt.deg
        moon = get_body("moon", level.obstime, place).transform_to(level)
        dark = sun <= -18.0
        sky = AltAz(obstime=level.obstime[dark], location=place)
        stars = SkyCoord(targets.ra_deg, targets.dec_deg, unit="deg")[:, None]
        panels = stars.transform_to(sky)
        panels.separation(moon[dark])
        (moon.alt > 0 * u.deg).any()
        whole_s = time.process_time() - started
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        started = time.process_time()
        stars.transform_to(sky)
        panels_s = time.process_time() - started
    edges = _edges(minutes, -18.0 - sun)
    found = [
        _window(minutes[dark], altitude - KAROO.lowest_altitude_deg, edges) for altitude in panels.alt.deg
    ]
    return _Astropy(found, whole_s, panels_s)


def _edges(minutes: Any, margin: Any) -> tuple[float, float]:
    """First and last instant at which a margin is not negative, on chords between minutes."""
    inside = np.flatnonzero(margin >= 0)
    ends = []
    for place, beside in ((inside[0], inside[0] - 1), (inside[-1], inside[-1] + 1)):
        if 0 <= beside < len(margin):
            share = margin[place] / (margin[place] - margin[beside])
            ends.append(minutes[place] + share * (minutes[beside] - minutes[place]))
        else:
            ends.append(minutes[place])
    return float(ends[0]), float(ends[1])


def _window(minutes: Any, margin: Any, dark: tuple[float, float]) -> tuple[float, float] | None:
    """From the first to the last dark instant at which a panel stands high enough."""
    inside = np.flatnonzero(margin >= 0)
    if not len(inside):
        return None
    beyond = np.array([2 * margin[0] - margin[1], *margin, 2 * margin[-1] - margin[-2]])
    start, end = _edges(np.array([minutes[0] - 60, *minutes, minutes[-1] + 60]), beyond)
    return max(start, dark[0]), min(end, dark[1])


def _difference_s(survey: Survey, night: int, theirs: list[tuple[float, float] | None]) -> float:
    """Greatest difference of the ends of windows, seconds."""
    sight, worst = survey.evenings[night].sight, 0.0
    for panel, window in enumerate(theirs):
        ours = sight.windows_of(panel)
        if window is None or not ours:
            assert sum(end - start for start, end in ours) < 60 and window is None
            continue
        worst = max(worst, abs(ours[0][0] - window[0]), abs(ours[-1][1] - window[1]))
    return worst


def _moonlight_row() -> dict[str, Any]:
    """What frames of a season are worth at a dark sky, against skyfield's positions for all of them at once."""
    random = np.random.default_rng(1)
    start_s = np.sort(
        1799532000.0 + 86400.0 * random.integers(0, 90, FRAMES) + random.uniform(0.0, 25000.0, FRAMES)
    )
    place = 128.0, -45.0
    vectors = np.tile(sky_to_vector(*place), (FRAMES, 1))
    frames = Exposed(start_s, np.full(FRAMES, 300.0), vectors, np.ones(FRAMES))
    dark_sky_shares(frames, (KAROO,))  # libraries loaded
    observe(KAROO, "moon", start_s[:10])
    started = time.process_time()
    dark_sky_shares(frames, (KAROO,))
    ours_s = time.process_time() - started
    started = time.process_time()
    star, moon = observe(KAROO, place, start_s), observe(KAROO, "moon", start_s)
    star.altaz(), moon.altaz(), star.separation_from(moon), moon.fraction_illuminated(ephemeris()["sun"])
    other_s = time.process_time() - started
    return {
        "name": f"moonlight of {FRAMES} frames in 90 nights",
        "ours_s": ours_s,
        "other_s": other_s,
        "ratio": other_s / ours_s,
        "note": "other: skyfield, all frames at once, altitudes, distance and phase alone",
    }


def _timetable_rows() -> list[dict[str, Any]]:
    """Four filters: one narrow, three broad, which wait for the Moon to set."""
    filters = (Filter("Ha", "narrow", 600, 15), *(Filter(name, "broad", 180, 12) for name in ("R", "G", "B")))
    season = Nights(
        dt.date(2027, 1, 8),
        dt.date(2027, 4, 7),
        clear_fraction=0.7,
        overhead_per_panel_min=6,
        overhead_per_exposure_s=8,
    )
    survey = survey_season(_grid(10, 6, (3.0, 2.0)), [KAROO], season, filters, flip_after_s=600.0)
    return [_timetable_row(survey, goal) for goal in ("soonest", "cheapest")]


def _timetable_row(survey: Survey, goal: Goal) -> dict[str, Any]:
    started = time.process_time()
    timetable = arrange(survey, goal=goal)
    ours_s = time.process_time() - started
    bound = timetable.bound
    assert bound is not None and timetable.finished
    return {
        "name": f"timetable, 60 panels, 4 filters, 90 nights, {goal}",
        "ours_s": ours_s,
        "note": f"{bound.kind}: {bound.ours:.0f}, bound {bound.best:.0f} (linear relaxation), gap {bound.gap:.1%}",
    }

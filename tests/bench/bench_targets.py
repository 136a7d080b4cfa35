"""Targets of a year: every nebula of the sky framed and its hours added up, beside astropy target by target."""

from __future__ import annotations

import datetime as dt
import math
from functools import partial
from pathlib import Path
from typing import Any

import astropy.units as u
import numpy as np
from astropy.coordinates import AltAz, EarthLocation, SkyCoord, get_sun
from astropy.time import Time

from planner.answers.targets.find import find_targets
from planner.answers.targets.frames import Framing, frames_of
from planner.answers.targets.sky import all_things
from planner.answers.targets.target import TargetList
from planner.answers.targets.wish import TargetWish
from planner.files.plan_file.read import read_setup_file
from planner.geometry import sky_to_vector
from planner.halves import two_processes
from planner.mosaic.fit import Opening, angles_with_room, best_placement
from planner.mosaic.fit.curve import BENT, best_rooms, reach_of
from planner.mosaic.fit.shape import Shape
from planner.night.many import season_hours
from planner.night.settings import Nights, Site
from planner.night.survey import Targets, survey_season

from .timing import Row, seconds

YEAR = Nights(dt.date(2027, 1, 1), dt.date(2027, 12, 31))
BESIDE = 25
BY_ASTROPY = 4
"""So many targets are done one by one, and the time of all taken from theirs."""
CHECKED = 200
"""So many targets have their angles looked at every tenth of a degree."""
EVERY_MIN = 5.0


once = partial(seconds, repeats=1)
"""Wall time of one run."""


def run() -> list[Row]:
    """Return the rows of the table."""
    setup = read_setup_file(Path(__file__).parents[2] / "sample_targets" / "karoo_pier.toml")
    wish = TargetWish(angle_deg=20.0)
    found: list[TargetList] = []
    all_things.cache_clear()
    with two_processes():
        first = once(lambda: found.append(find_targets(setup, YEAR, wish)))
        again = once(lambda: find_targets(setup, YEAR, wish))
    alone = once(lambda: find_targets(setup, YEAR, wish))
    note = f"{len(found[0].targets)} targets listed, groups among them"
    return [
        {"name": "whole sky, a year, one field", "ours_s": first, "note": note},
        {
            "name": "the same, outlines at hand, two processes",
            "ours_s": again,
            "other_s": alone,
            "note": "other: one",
        },
        _frames(setup),
        _brute(setup),
        _hours(setup),
        _astropy(setup),
    ]


def _framing(setup: Any) -> Framing:
    return Framing(setup.camera.field, 0.05, 20.0, None)


def _frames(setup: Any) -> Row:
    """Best frame and angles of all shapes, beside one by one."""
    shapes = [one.shape for one in all_things()]
    framing = _framing(setup)
    opening = Opening.margins(framing.field)
    some = [shapes[k] for k in np.random.default_rng(1).choice(len(shapes), BESIDE, replace=False)]
    ours = once(lambda: frames_of(shapes, framing))

    def one_by_one() -> None:
        for shape in some:
            best = best_placement(shape, opening)
            angles_with_room(shape, opening, 0.1 * opening.half[1], (math.radians(best.position_angle_deg),))

    other = seconds(one_by_one) * len(shapes) / len(some)
    note = f"one by one from {len(some)} of {len(shapes)}"
    return {
        "name": "frames of all nebulae",
        "ours_s": ours,
        "other_s": other,
        "ratio": other / ours,
        "note": note,
    }


def far_from_poles(shape: Shape, opening: Opening) -> bool:
    """Whether one search from the middle finds the best centre."""
    return math.hypot(*shape.basis[2, :2]) >= BENT * reach_of(shape, opening)


def _brute(setup: Any) -> Row:
    """Intervals of random targets that fit at some angles only (as far as there are any), at every 0.1 degrees."""
    framing = _framing(setup)
    opening, least = Opening.margins(framing.field), _framing(setup).margin_asked_arcmin / math.degrees(60)
    random = np.random.default_rng(2)
    things = all_things()
    frames = frames_of([one.shape for one in things], framing)
    away = [k for k, one in enumerate(things) if far_from_poles(one.shape, opening)]
    middle = [k for k in away if frames[k].fits_at_deg not in ((), ((0.0, 180.0),))]
    sizes = {k: things[k].shape.radius_rad / opening.half[1] for k in away}
    near = [k for k in away if 0.5 < sizes[k] < 2 and k not in middle]
    some = [*middle, *random.choice(near, CHECKED - len(middle), replace=False)]
    angles, wrong = np.arange(0.0, 180.0, 0.1), 0
    for k in some:
        room = best_rooms(things[k].shape, opening, np.radians(angles)).room
        held = np.array(
            [any((a - low) % 180 <= high - low for low, high in frames[k].fits_at_deg) for a in angles]
        )
        wrong += int((held != (room >= least))[np.abs(room - least) > 1e-6].sum())
    note = (
        f"{len(some)} targets away from the poles, {len(middle)} with some angles only, "
        f"{len(angles)} angles each: {wrong} differ"
    )
    return {"name": "angles by brute force", "note": note}


def _hours(setup: Any) -> Row:
    """Hours of a year, beside a survey of its windows, for the same places."""
    ra, dec = _some_places(100)
    vectors = sky_to_vector(ra, dec)
    month = Nights(dt.date(2027, 3, 1), dt.date(2027, 3, 30))
    named = Targets(tuple(map(str, range(len(ra)))), ra, dec)
    found = season_hours(vectors, setup.sites, month, setup.filters)
    ours = once(lambda: season_hours(vectors, setup.sites, month, setup.filters))
    other = once(lambda: survey_season(named, setup.sites, month, setup.filters))
    survey = survey_season(named, setup.sites, month, setup.filters)
    sums = np.zeros_like(found.filter_s)
    for night, one in enumerate(survey.evenings):
        for row in one.segments:
            sums[row.chosen, row.panel, night] += row.end_s - row.start_s
    note = f"{len(ra)} places, 30 evenings: {int((sums != found.filter_s).sum())} sums differ"
    return {
        "name": "hours beside `nights`",
        "ours_s": ours,
        "other_s": other,
        "ratio": other / ours,
        "note": note,
    }


def _astropy(setup: Any) -> Row:
    """Hours in the dark above the lowest altitude over a month by astropy, target by target, every 5 minutes."""
    (site,) = setup.sites
    plain = Site(site.latitude_deg, site.longitude_deg, lowest_altitude_deg=site.lowest_altitude_deg)
    month = Nights(dt.date(2025, 9, 1), dt.date(2025, 9, 30))
    ra, dec = _some_places(BY_ASTROPY)
    vectors = sky_to_vector(ra, dec)
    ours = once(lambda: season_hours(vectors, [plain], month))
    found = season_hours(vectors, [plain], month).any_s.sum(axis=1) / 3600
    hours: list[float] = []
    other = once(lambda: hours.extend(_hours_by_astropy(plain, ra, dec)))
    off = np.abs(np.array(hours) - found).max()
    note = f"{BY_ASTROPY} targets, 30 evenings; greatest difference {off:.2f} h of up to {found.max():.0f} h"
    return {
        "name": "hours beside astropy",
        "ours_s": ours,
        "other_s": other,
        "ratio": other / ours,
        "note": note,
    }


def _hours_by_astropy(site: Site, ra: np.ndarray, dec: np.ndarray) -> list[float]:
    place = EarthLocation.from_geodetic(site.longitude_deg * u.deg, site.latitude_deg * u.deg, 0 * u.m)
    instants = Time("2025-09-01T12:00:00") + np.arange(0.0, 30 * 1440, EVERY_MIN) * u.min
    found = []
    for one in SkyCoord(ra, dec, unit="deg"):
        frame = AltAz(obstime=instants, location=place)
        dark = get_sun(instants).transform_to(frame).alt.deg <= -18.0
        high = one.transform_to(frame).alt.deg >= site.lowest_altitude_deg
        found.append(float((dark & high).sum() * EVERY_MIN / 60))
    return found


def _some_places(count: int) -> tuple[np.ndarray, np.ndarray]:
    things = all_things()
    chosen = np.random.default_rng(4).choice(len(things), count, replace=False)
    return (
        np.array([things[k].nebula.ra_deg for k in chosen]),
        np.array([things[k].nebula.dec_deg for k in chosen]),
    )

"""Planets and the Moon near panels, against skyfield."""

import datetime as dt

import numpy as np
import pytest

from planner.geometry import separation_rad, sky_to_vector
from planner.night.almanac import make_almanac
from planner.night.brightening import altitude_deg, brightening_mag, moon_separation_deg
from planner.night.settings import Nights
from planner.night.survey import Targets, survey_season
from planner.night.wanderers import MOON_MARGIN_DEG, PLANETS, find_wanderers, planet_vector

from . import sky_oracle
from .small_season import KAROO

BODIES = {name: f"{name.lower()} barycenter" for name in PLANETS}


@pytest.mark.parametrize("name", PLANETS)
@pytest.mark.parametrize("year", [2003, 2027])
def test_planets_against_skyfield(name, year):
    time = dt.datetime(year, 5, 10, 3, tzinfo=dt.UTC).timestamp()
    almanac = make_almanac(time, time + 1)
    bodies = sky_oracle.ephemeris()
    ra, dec, _ = bodies["earth"].at(sky_oracle.instants(time)).observe(bodies[BODIES[name]]).radec()
    expected = sky_to_vector(15 * ra.hours[0], dec.degrees[0])
    # erfa.plan94 states 87 arc seconds for Saturn, less for the others
    assert np.degrees(separation_rad(planet_vector(name, time, almanac), expected)) < 90 / 3600


def season(ra_deg, dec_deg, first, last):
    targets = Targets(("A1",), np.array([ra_deg]), np.array([dec_deg]), 1.5)
    return survey_season(targets, [KAROO], Nights(first, last))


def test_a_planet_is_told_as_long_as_it_is_near():
    date = dt.date(2027, 1, 20)
    time = dt.datetime(2027, 1, 20, 23, tzinfo=dt.UTC).timestamp()
    vector = planet_vector("Jupiter", time, make_almanac(time, time + 1))
    ra, dec = np.degrees(np.arctan2(vector[1], vector[0])) % 360, np.degrees(np.arcsin(vector[2]))
    survey = season(ra, dec, date - dt.timedelta(days=4), date + dt.timedelta(days=4))
    found = [row for row in find_wanderers(survey) if row.body == "Jupiter"]
    assert len(found) == 9 and min(found, key=lambda row: row.separation_deg).night == 4
    assert found[4].separation_deg < 0.05
    away = season(ra, dec - 8, date, date)
    assert [row for row in find_wanderers(away) if row.body == "Jupiter"] == []


def test_the_moon_is_told_only_while_it_is_up_and_near():
    time = dt.datetime(2027, 1, 25, 23, tzinfo=dt.UTC).timestamp()
    ra, dec, _ = sky_oracle.observe(KAROO, "moon", time).radec()
    survey = season(15 * ra.hours[0], dec.degrees[0] - 3.0, dt.date(2027, 1, 10), dt.date(2027, 1, 31))
    found = [row for row in find_wanderers(survey) if row.body == "the Moon"]
    assert 1 <= len(found) <= 4 and 15 in {row.night for row in found}
    for row in found:
        assert row.separation_deg <= 1.5 + MOON_MARGIN_DEG
        assert row.separation_deg == pytest.approx(
            survey.evenings[row.night].sight.least_moon_separation_deg[0]
        )


def test_altitude_separation_and_moonlight_at_an_instant():
    survey = season(128.5, -45.8, dt.date(2027, 1, 20), dt.date(2027, 1, 20))
    time = np.array([0.0, 7200.0]) + survey.evenings[0].sight.window_s[0, 0]
    altitude = sky_oracle.altitude_azimuth(KAROO, (128.5, -45.8), time)[0]
    assert altitude_deg(survey, 0, [0, 0], time) == pytest.approx(altitude, abs=0.002)
    star, moon = (sky_oracle.observe(KAROO, target, time) for target in ((128.5, -45.8), "moon"))
    apart = star.separation_from(moon).degrees
    assert moon_separation_deg(survey, 0, [0, 0], time) == pytest.approx(apart, abs=0.05)
    brighter = brightening_mag(survey, 0, [0, 0], time)
    assert (brighter > 1.0).all() and (brighter < 4.0).all()  # two days before full moon
    new = season(128.5, -45.8, dt.date(2027, 2, 6), dt.date(2027, 2, 6))
    assert brightening_mag(new, 0, 0, new.evenings[0].evening.middle_s) == 0.0

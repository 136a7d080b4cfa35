"""Hours of many places: the seconds of a survey, the declination rule of the sphere, altitudes by astropy."""

import datetime as dt
from dataclasses import replace

import astropy.units as u
import numpy as np
import pytest
from astropy.coordinates import AltAz, EarthLocation, SkyCoord, get_sun
from astropy.time import Time

from planner.geometry import sky_to_vector, vector_to_sky
from planner.night.many import season_hours
from planner.night.many.reach_arcs import reach_arcs
from planner.night.settings import Filter, Nights, Site
from planner.night.survey import Targets, survey_season
from tests.night.small_season import FILTERS, KAROO

RULES = (*FILTERS, Filter("dark time", "broad", 300, 10, moon_illumination=0.3))
SITES = {
    "south, horizon": (KAROO, dt.date(2027, 1, 8), 4),
    "steep horizon": (
        replace(KAROO, lowest_altitude_deg=5, horizon_deg=((0, 12), (60, 40), (90, 5), (120, 35), (270, 15))),
        dt.date(2027, 3, 20),
        3,
    ),
    "north": (Site(52.0, 5.0, time_zone="Europe/Amsterdam"), dt.date(2027, 9, 13), 4),
    "equator": (Site(0.0, -80.0), dt.date(2027, 3, 20), 3),
    "polar night": (Site(78.0, 15.0), dt.date(2027, 12, 10), 2),
    "polar day": (Site(78.0, 15.0), dt.date(2027, 6, 10), 2),
    "pole": (Site(-90.0, 0.0, lowest_altitude_deg=10), dt.date(2027, 6, 16), 2),
    "noon by night": (Site(30.0, 15.0, time_zone="Asia/Tokyo"), dt.date(2027, 6, 18), 2),
}


def places(count, seed=0):
    """Right ascensions and declinations all over the sky, and both poles."""
    vectors = np.random.default_rng(seed).normal(size=(count, 3))
    ra, dec = vector_to_sky(vectors)
    return np.append(ra, [0.0, 10.0]), np.append(dec, [90.0, -90.0])


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("flip_after_s", [600.0, None])
def test_the_seconds_are_those_of_a_survey(name, flip_after_s):
    site, first, days = SITES[name]
    ra, dec = places(60)
    nights = Nights(first, first + dt.timedelta(days=days - 1))
    named = Targets(tuple(map(str, range(len(ra)))), ra, dec)
    survey = survey_season(named, [site], nights, RULES, flip_after_s=flip_after_s)
    windows = np.zeros((len(ra), days), dtype=int)
    filters = np.zeros((len(RULES), len(ra), days), dtype=int)
    for night, one in enumerate(survey.evenings):
        np.add.at(windows[:, night], one.sight.panel, np.diff(one.sight.window_s, axis=1)[:, 0])
        for row in one.segments:
            filters[row.chosen, row.panel, night] += row.end_s - row.start_s
    found = season_hours(sky_to_vector(ra, dec), [site], nights, RULES, flip_after_s=flip_after_s)
    assert (found.any_s == windows).all()
    assert (found.filter_s == filters).all()
    assert windows.any() == (name != "polar day")


def test_hours_of_several_sites_are_added():
    ra, dec = places(10)
    vectors, nights = sky_to_vector(ra, dec), Nights(dt.date(2027, 1, 8), dt.date(2027, 1, 9))
    both = (KAROO, Site(28.1, -17.25, "Canary pier"))
    apart = [season_hours(vectors, [site], nights, RULES) for site in both]
    together = season_hours(vectors, both, nights, RULES)
    assert (together.filter_s == apart[0].filter_s + apart[1].filter_s).all()
    assert (together.in_reach == apart[0].in_reach | apart[1].in_reach).all()


@pytest.mark.parametrize("latitude_deg", [-90.0, -31.2, 0.0, 47.0, 89.9])
def test_the_declination_rule(latitude_deg):
    """What culminates at the altitude or higher has an arc, and its half is the hour angle of the handbooks.

    Source: greatest altitude 90 - |latitude - declination|; cos H = (sin h - sin p sin d) / (cos p cos d): Meeus,
    Astronomical Algorithms (2nd ed.), chapter 15.
    """
    site = Site(latitude_deg, 0.0, lowest_altitude_deg=30.0)
    dec = np.radians(np.linspace(-89.95, 89.95, 400))
    arcs = reach_arcs(site, dec)
    rises = 90.0 - np.abs(latitude_deg - np.degrees(dec)) >= 30.0
    assert (np.isin(np.arange(400), arcs.row) == rises)[~arcs.delicate].all()
    p, h = np.radians(latitude_deg), np.radians(30.0)
    cosine = (np.sin(h) - np.sin(p) * np.sin(dec)) / (np.cos(p) * np.cos(dec))
    for row, (start, stop) in zip(arcs.row, arcs.arc_rad, strict=True):
        if not arcs.delicate[row]:
            half = np.arccos(cosine[row]) if cosine[row] > -1 else np.inf
            assert (start, stop) == pytest.approx((-half, half), abs=np.radians(0.05))


def test_altitudes_by_astropy():
    """Minutes in the dark above 30 degrees, counted by astropy (refraction left out)."""
    site = Site(47.0, 8.0, elevation_m=500.0)
    ra, dec = np.array([10.0, 83.8, 312.0]), np.array([41.0, -5.4, 44.0])
    nights = Nights(dt.date(2025, 11, 1), dt.date(2025, 11, 1))
    found = season_hours(sky_to_vector(ra, dec), [site], nights)
    time = Time("2025-11-01T12:00:00") + np.arange(0, 1440, 2) * u.min
    frame = AltAz(obstime=time, location=EarthLocation.from_geodetic(8.0 * u.deg, 47.0 * u.deg, 500 * u.m))
    dark = get_sun(time).transform_to(frame).alt.deg <= -18.0
    for row in range(3):
        high = SkyCoord(ra[row], dec[row], unit="deg").transform_to(frame).alt.deg >= 30.0
        assert found.any_s[row, 0] / 60 == pytest.approx(2 * (dark & high).sum(), abs=4)

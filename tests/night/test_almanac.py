"""Sun, Moon and the turning Earth against published examples and against skyfield with DE421."""

import datetime as dt

import numpy as np
import pytest

from planner.geometry import sky_to_vector, vector_to_sky
from planner.night.almanac import AU_KM, illuminated_fraction, make_almanac
from planner.night.clock import earth_rotation_rad, tt_days, utc_text
from planner.night.observer import celestial_axes, make_observer
from planner.night.settings import Site

from . import sky_oracle

ARCSEC = np.radians(1 / 3600)
SITES = (
    Site(-31.2, 22.6, elevation_m=1750),
    Site(28.1, -17.25, elevation_m=2100),
    Site(69.65, 18.96),
    Site(0.0, 179.9),
    Site(-89.99, 0.0, elevation_m=2800),
)
DATES = (dt.datetime(1992, 4, 12), dt.datetime(2003, 10, 17, 19), dt.datetime(2027, 1, 8, 22))


def posix(*parts):
    return dt.datetime(*parts, tzinfo=dt.UTC).timestamp()


def from_tt(*parts, tai_less_utc):
    """Instant in POSIX seconds of a date in terrestrial time."""
    return posix(*parts) - 32.184 - tai_less_utc


def apparent_ra_dec(vector, time_s):
    """Apparent right ascension and declination, true equator and equinox of date, degrees."""
    import erfa

    matrix = erfa.pnm06a(2440587.5, float(tt_days(time_s)))
    return vector_to_sky(matrix @ vector)


def test_leap_seconds_and_the_day_before_them():
    assert round((tt_days(posix(2016, 12, 31, 23, 59, 59)) - tt_days(posix(2017, 1, 1))) * 86400, 3) == -2.0
    assert round(tt_days(posix(2027, 1, 1)) * 86400 - posix(2027, 1, 1), 3) == 69.184
    assert utc_text(posix(2027, 1, 8, 19, 30, 0)) == "2027-01-08T19:30:00Z"


def test_earth_rotation_angle_of_the_year_2000():
    # IAU 2000: 280.46062 degrees at 2000-01-01 12:00 UT1 (IERS Conventions 2010, equation 5.15); the table of
    # UT1 - UTC gives +0.3554 s for that day
    angle = np.degrees(earth_rotation_rad(posix(2000, 1, 1, 12)))
    assert angle == pytest.approx(280.46062 + 0.3554 * 360.98565 / 86400, abs=1e-4)


def test_apparent_sun_of_meeus_example_25b():
    # Meeus, Astronomical Algorithms (2nd ed.), example 25.b: 1992-10-13.0 TD, 13h13m30.749s, -7 47 01.74
    time = from_tt(1992, 10, 13, tai_less_utc=27)
    sun = make_almanac(time, time + 1).sun_km(time)
    ra, dec = apparent_ra_dec(sun, time)
    assert ra == pytest.approx(15 * (13 + 13 / 60 + 30.749 / 3600), abs=0.1 / 3600)
    assert dec == pytest.approx(-(7 + 47 / 60 + 1.74 / 3600), abs=0.1 / 3600)


def test_apparent_moon_of_meeus_example_47a():
    # Meeus, example 47.a: 1992-04-12.0 TD, apparent 134.688470, +13.768368, distance 368409.7 km. The
    # series is the same, so this checks light-time, nutation and units, not the Moon
    time = from_tt(1992, 4, 12, tai_less_utc=26)
    moon = make_almanac(time, time + 1).moon_km(time)
    ra, dec = apparent_ra_dec(moon, time)
    assert ra == pytest.approx(134.688470, abs=0.3 / 3600)
    assert dec == pytest.approx(13.768368, abs=0.3 / 3600)
    assert np.linalg.norm(moon) == pytest.approx(368409.7, abs=40)  # 34 km by light-time


def test_illumination_of_meeus_example_48a():
    # Meeus, example 48.a: same instant, k = 0.6786 (geocentric)
    time = from_tt(1992, 4, 12, tai_less_utc=26)
    almanac = make_almanac(time, time + 1)
    assert illuminated_fraction(almanac.moon_km(time), almanac.sun_km(time)) == pytest.approx(
        0.6786, abs=1e-4
    )


@pytest.mark.parametrize(
    ("phase", "moment"),
    [
        # Meeus, examples 49.a and 49.b: 1977-02-18 3:37:42 and 2044-01-21 23:48:17 TD
        (0.0, (1977, 2, 18, 3, 36, 54)),
        (0.5, (2044, 1, 21, 23, 47, 8)),
        # Moon phases of 2027, US Naval Observatory, UT to the minute (skyfield with DE421 agrees within one)
        (0.0, (2027, 1, 7, 20, 24)),
        (0.5, (2027, 1, 15, 20, 34)),
        (1.0, (2027, 1, 22, 12, 17)),
        (0.5, (2027, 1, 29, 10, 55)),
    ],
)
def test_illumination_at_published_phases(phase, moment):
    time = posix(*moment)
    almanac = make_almanac(time, time + 1)
    # at a phase the longitudes differ by 0, 90, 180 degrees, but latitude keeps the disc from 0 and 1 by up
    # to 0.0025, and at a quarter the Moon seen from near is half lit 0.15 degrees beside the quadrature
    light = illuminated_fraction(almanac.moon_km(time), almanac.sun_km(time))
    assert light == pytest.approx(phase, abs=0.003)


def test_topocentric_sun_of_the_solar_position_algorithm():
    # Reda & Andreas, NREL/TP-560-34302 (rev. 2008), worked example: 2003-10-17 12:30:30 zone -7 (as UT1);
    # airless altitude 39.872046, azimuth 194.340240, stated uncertainty 0.0003 degrees
    site = Site(39.742476, -105.1786, elevation_m=1830.14)
    ut1_less_utc = -0.36  # of that day
    time = posix(2003, 10, 17, 19, 30, 30) - ut1_less_utc
    observer, axes = make_observer(site), celestial_axes(time)
    sun = make_almanac(time, time + 1).sun_km(time) - observer.position_km(time, axes)
    up, north, east = observer.basis(time, axes) @ (sun / np.linalg.norm(sun))
    assert np.degrees(np.arcsin(up)) == pytest.approx(39.872046, abs=3e-4)
    assert np.degrees(np.arctan2(east, north)) % 360 == pytest.approx(194.34024, abs=3e-4)


def test_horizon_of_meeus_example_13b():
    # Meeus, example 13.b (Venus from the US Naval Observatory, 1987-04-10 19:21:00 UT): apparent place
    # 23h09m16.641s -6 43 11.61, L 77 03 56 W, phi +38 55 17: hour angle 64.35199, azimuth 68.0337 from south,
    # altitude 15.1249 (airless, no parallax)
    import erfa

    site = Site(38 + 55 / 60 + 17 / 3600, -(77 + 3 / 60 + 56 / 3600))
    ut1_less_utc = -0.2926  # Bulletin A
    time = posix(1987, 4, 10, 19, 21) - ut1_less_utc
    of_date = sky_to_vector(15 * (23 + 9 / 60 + 16.641 / 3600), -(6 + 43 / 60 + 11.61 / 3600))
    vector = erfa.pnm06a(2440587.5, float(tt_days(time))).T @ of_date
    observer, axes = make_observer(site), celestial_axes(time)
    up, north, east = observer.basis(time, axes) @ vector
    assert np.degrees(np.arcsin(up)) == pytest.approx(15.1249, abs=1e-4)
    assert np.degrees(np.arctan2(east, north)) % 360 == pytest.approx(68.0337 + 180, abs=1e-4)
    assert observer.zenith(time, axes) @ vector == pytest.approx(up, abs=1e-12)
    assert np.degrees(observer.hour_angle_rad(vector, time, axes)) == pytest.approx(64.35199, abs=1e-4)


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("date", DATES)
def test_altitudes_against_skyfield(site, date):
    start = date.replace(tzinfo=dt.UTC).timestamp()
    time = start + np.arange(0.0, 86400.0, 7200.0)
    observer, axes = make_observer(site), celestial_axes(start + 43200.0)
    almanac = make_almanac(start, start + 86400.0)
    place, basis = observer.position_km(time, axes), observer.basis(time, axes)
    targets = {
        "sun": (almanac.sun_km(time) - place, 1.0 * ARCSEC),
        "moon": (almanac.moon_km(time) - place, 15.0 * ARCSEC),  # the series of erfa.moon98
        (128.0, -45.0): (almanac.apparent(sky_to_vector(128.0, -45.0), start + 43200.0), 1.0 * ARCSEC),
        (10.0, 89.5): (almanac.apparent(sky_to_vector(10.0, 89.5), start + 43200.0), 1.0 * ARCSEC),
    }
    turn = 15.04 * 0.3 * ARCSEC  # UT1 - UTC of 2027 is predicted differently by up to 0.3 s
    for target, (vector, tolerance) in targets.items():
        unit = vector / np.linalg.norm(vector, axis=-1, keepdims=True)
        altitude, azimuth = sky_oracle.altitude_azimuth(site, target, time)
        expected = sky_to_vector(-azimuth, altitude)  # x to north, y to east
        unit = np.broadcast_to(unit, (len(time), 3))
        up, north, east = np.einsum("tij,tj->it", basis, unit)
        ours = np.stack([north, -east, up], axis=-1)
        assert np.linalg.norm(ours - expected, axis=-1).max() < tolerance + turn, target


def test_moon_seen_from_the_ground_is_where_skyfield_has_it():
    site = SITES[0]
    time = posix(2027, 3, 1) + np.arange(0.0, 86400.0 * 28, 86400.0)
    almanac, observer = make_almanac(time[0], time[-1]), make_observer(site)
    for moment in time:
        moon = almanac.moon_km(moment) - observer.position_km(moment, celestial_axes(moment))
        ra, dec, distance = sky_oracle.observe(site, "moon", moment).radec()
        expected = sky_to_vector(15 * ra.hours[0], dec.degrees[0]) * distance.km[0]
        distance = np.linalg.norm(moon)
        assert np.linalg.norm(moon / distance - expected / np.linalg.norm(expected)) < 15 * ARCSEC
        assert distance == pytest.approx(np.linalg.norm(expected), abs=60)  # 34 km by light-time


def test_curves_hold_between_the_nodes():
    time = posix(2027, 6, 1)
    coarse = make_almanac(time, time + 86400 * 3)
    moments = time + np.array([3 * 3600.0, 9.5 * 3600.0, 40.1 * 3600.0])
    for moment in moments:
        exact = make_almanac(moment + 21600.0, moment + 21601.0)  # a node stands at the moment itself
        for name in ("sun_km", "moon_km"):
            ours, theirs = getattr(coarse, name)(moment), getattr(exact, name)(moment)
            assert np.linalg.norm(ours - theirs) / np.linalg.norm(theirs) < 0.1 * ARCSEC
    assert np.linalg.norm(coarse.sun_km(time)) / AU_KM == pytest.approx(1.014, abs=0.002)

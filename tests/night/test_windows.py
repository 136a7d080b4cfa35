"""Darkness, Moon and windows against skyfield over sites and seasons; hard cases."""

import datetime as dt
import zoneinfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.night.clock import noon_s
from planner.night.horizon import limit_deg
from planner.night.settings import Filter, Nights, Site
from planner.night.survey import Targets, survey_season

from . import sky_oracle

KAROO = Site(
    -31.2,
    22.6,
    "Karoo",
    1750,
    "Africa/Johannesburg",
    30,
    ((0, 12), (60, 35), (100, 48), (180, 10), (240, 40), (300, 38)),
)
CANARY = Site(28.1, -17.25, "Canary", 2100, "Atlantic/Canary", 25)
TROMSO = Site(69.65, 18.96, "north", 0, "Europe/Oslo", 20)
EQUATOR = Site(0.3, 179.5, "equator", 0, "Pacific/Tarawa", 15)
SOUTH = Site(-89.9, 0.0, "south", 2800, "Antarctica/South_Pole", 30)
PLACES = ((128.5, -45.8), (247.0, -25.0), (10.0, 41.0), (30.0, 89.2), (200.0, -88.0), (359.9, 5.0))
CASES = (
    (KAROO, dt.date(2027, 1, 8), "astronomical"),
    (KAROO, dt.date(2027, 6, 21), "nautical"),
    (CANARY, dt.date(2027, 3, 27), "astronomical"),
    (CANARY, dt.date(2003, 10, 25), "civil"),
    (TROMSO, dt.date(2027, 10, 30), "astronomical"),
    (TROMSO, dt.date(2027, 12, 21), "astronomical"),
    (EQUATOR, dt.date(2027, 9, 22), "astronomical"),
    (SOUTH, dt.date(2027, 6, 20), "astronomical"),
)
EDGE_S = 10.0
"""Asked accuracy of an edge."""


def targets(places=PLACES):
    ra, dec = np.array(places, dtype=float).T
    return Targets(tuple(f"P{number}" for number in range(len(places))), ra, dec)


def survey(site, first, last=None, darkness="astronomical", places=PLACES):
    return survey_season(targets(places), [site], Nights(first, last or first, darkness))


def assert_same_spans(ours, theirs, tolerance_s):
    assert len(ours) == len(theirs)
    if len(ours):
        assert np.abs(np.subtract(ours, theirs)).max() < tolerance_s


@pytest.mark.parametrize(("site", "date", "darkness"), CASES)
def test_windows_darkness_and_moon_against_skyfield(site, date, darkness):
    one = survey(site, date, darkness=darkness).evenings[0]
    start, end = noon_s(date, site.zone), noon_s(date + dt.timedelta(days=1), site.zone)
    limit = {"civil": -6.0, "nautical": -12.0, "astronomical": -18.0}[darkness]
    dark = sky_oracle.spans_above(
        lambda time: limit - sky_oracle.altitude_azimuth(site, "sun", time)[0], start, end
    )
    assert_same_spans(one.evening.dark_s, dark, EDGE_S / 2)
    moon = sky_oracle.spans_above(lambda time: sky_oracle.altitude_azimuth(site, "moon", time)[0], start, end)
    assert_same_spans(one.evening.moon_s, moon, EDGE_S)
    for panel, place in enumerate(PLACES):

        def above(time, place=place):
            altitude, azimuth = sky_oracle.altitude_azimuth(site, place, time)
            return altitude - limit_deg(site, azimuth)

        windows = [span for pair in dark for span in sky_oracle.spans_above(above, *pair)]
        assert_same_spans(one.sight.windows_of(panel), windows, EDGE_S / 2)
        assert_reported(site, one, panel, place, windows)


def assert_reported(site, one, panel, place, windows):
    """Greatest altitude, Moon separation and transit over the windows."""
    altitude, azimuth = sky_oracle.altitude_azimuth(site, place, one.sight.transit_s[panel])
    if abs(site.latitude_deg) < 80 and abs(place[1]) < 80:
        assert abs(np.sin(np.radians(azimuth[0])) * np.cos(np.radians(altitude[0]))) < 1e-4
    if not windows:
        assert np.isnan(one.sight.greatest_altitude_deg[panel])
        assert np.isnan(one.sight.least_moon_separation_deg[panel])
        return
    time = np.concatenate([np.append(np.arange(a, b, 240.0), b) for a, b in windows])
    greatest = sky_oracle.altitude_azimuth(site, place, time)[0].max()
    assert one.sight.greatest_altitude_deg[panel] == pytest.approx(greatest, abs=0.02)
    moon = sky_oracle.observe(site, "moon", time)
    star = sky_oracle.observe(site, place, time)
    assert one.sight.least_moon_separation_deg[panel] == pytest.approx(
        star.separation_from(moon).degrees.min(), abs=0.05
    )


def test_illumination_at_the_middle_of_the_dark_time():
    for one in survey(KAROO, dt.date(2027, 1, 8), dt.date(2027, 1, 24)).evenings[::5]:
        middle = sum(one.evening.dark_s[0]) / 2
        moon = sky_oracle.observe(KAROO, "moon", middle)
        expected = moon.fraction_illuminated(sky_oracle.ephemeris()["sun"])[0]
        assert one.evening.moon_illumination == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("darkness", "morning", "evening"),
    [
        ("civil", (8, 52, 56), (1, 6, 33)),
        ("nautical", (8, 10, 5), (1, 49, 23)),
        ("astronomical", (7, 19, 18), (2, 40, 8)),
    ],
)
def test_published_twilights(darkness, morning, evening):
    # Almanac for Computers 1990 (US Naval Observatory), worked example: Wayne NJ, 40.9 N, 74.3 W, 25 June 1990:
    # twilight begins in the morning of the 25th and ends in the evening, which in UT is the 26th
    site = Site(40.9, -74.3, time_zone="America/New_York")
    before, after = survey(site, dt.date(1990, 6, 24), dt.date(1990, 6, 25), darkness).evenings
    begins, ends = (
        dt.datetime(1990, 6, day, *clock, tzinfo=dt.UTC).timestamp()
        for day, clock in ((25, morning), (26, evening))
    )
    assert before.evening.dark_s[0][1] == pytest.approx(begins, abs=5)
    assert after.evening.dark_s[0][0] == pytest.approx(ends, abs=5)


def test_no_night_in_the_northern_summer_and_no_day_in_its_winter():
    # no astronomical night at the June solstice north of 90 - 18 - 23.44 = 48.56
    summer = survey(Site(48.7, 9.0, time_zone="Europe/Berlin"), dt.date(2027, 6, 21)).evenings[0]
    assert summer.evening.dark_s == () and len(summer.sight.panel) == 0
    assert 0.0 <= summer.evening.moon_illumination <= 1.0
    south_of_it = survey(Site(48.4, 9.0, time_zone="Europe/Berlin"), dt.date(2027, 6, 21)).evenings[0]
    assert len(south_of_it.evening.dark_s) == 1
    pole = survey(Site(90.0, 0.0, lowest_altitude_deg=10), dt.date(2027, 12, 21)).evenings[0]
    assert pole.evening.dark_s == (pole.evening.span_s,)
    assert pole.sight.windows_of(3) == [pole.evening.span_s]
    assert pole.evening.moon_s in ((), (pole.evening.span_s,)) or len(pole.evening.moon_s) == 1


def test_a_zone_that_cuts_the_night_in_two_gives_two_dark_spans():
    site = Site(-32.0, 180.0, time_zone="UTC", lowest_altitude_deg=30)
    evening = survey(site, dt.date(2027, 1, 8)).evenings[0].evening
    assert len(evening.dark_s) == 2
    assert evening.dark_s[0][0] == evening.span_s[0] and evening.dark_s[1][1] == evening.span_s[1]
    assert evening.dark_hours == pytest.approx(6.6, abs=0.3)


@pytest.mark.parametrize(("date", "hours"), [("2027-03-27", 23), ("2027-10-30", 25), ("2027-01-08", 24)])
def test_an_evening_runs_from_noon_to_noon_in_summer_time_too(date, hours):
    site = Site(52.5, 13.4, time_zone="Europe/Berlin")
    evening = survey(site, dt.date.fromisoformat(date)).evenings[0].evening
    start, end = (
        dt.datetime.fromtimestamp(one, tz=zoneinfo.ZoneInfo("Europe/Berlin")) for one in evening.span_s
    )
    assert (start.hour, end.hour) == (12, 12) and start.date() == evening.date
    assert evening.span_s[1] - evening.span_s[0] == hours * 3600


def test_a_horizon_cuts_a_window_into_several():
    ridge = ((0, 0), (119, 0), (120, 60), (140, 60), (141, 0), (359, 0))
    open_site = Site(-32.0, 20.0, time_zone="Africa/Johannesburg", lowest_altitude_deg=20)
    walled = Site(-32.0, 20.0, time_zone="Africa/Johannesburg", lowest_altitude_deg=20, horizon_deg=ridge)
    place = ((128.5, -45.8),)
    one, two = (survey(site, dt.date(2027, 1, 8), places=place).evenings[0] for site in (open_site, walled))
    assert len(one.sight.windows_of(0)) == 1
    start, end = one.sight.windows_of(0)[0]
    inside = [span for span in two.sight.windows_of(0) if start <= span[0] and span[1] <= end]
    assert len(inside) == len(two.sight.windows_of(0)) >= 1
    assert sum(b - a for a, b in inside) < end - start


def test_a_panel_that_grazes_the_limit():
    # declination at which the upper transit stands 0.003 degrees above and below the limit
    site = Site(-32.0, 20.0, time_zone="Africa/Johannesburg", lowest_altitude_deg=30)
    above, below = ((128.5, 90 - 30 - 32 - 0.2), (128.5, 90 - 30 - 32 + 0.2))
    one = survey(site, dt.date(2027, 1, 20), places=(above, below)).evenings[0]
    assert len(one.sight.windows_of(0)) == 1 and one.sight.windows_of(1) == []
    assert one.sight.greatest_altitude_deg[0] == pytest.approx(30.2, abs=0.15)


def test_nothing_is_planned_near_the_sun():
    # the Sun stands at right ascension 279 on 2027-01-01; a low limit lets a panel beside it be seen at dusk
    site = Site(-32.0, 20.0, time_zone="Africa/Johannesburg", lowest_altitude_deg=0)
    filters = (Filter("Ha", "narrow", 60, 1, moon_illumination=1.0),)
    near, far = (301.0, -23.0), (318.0, -23.0)
    season = survey_season(
        targets((near, far)), [site], Nights(dt.date(2027, 1, 1), dt.date(2027, 1, 1), "civil"), filters
    )
    one = season.evenings[0]
    assert one.sight.windows_of(0) and one.sight.windows_of(1)
    assert {row.panel for row in one.segments} == {1}


@given(
    st.floats(-90, 90),
    st.floats(-180, 180),
    st.dates(dt.date(1990, 1, 1), dt.date(2060, 1, 1)),
    st.sampled_from(["civil", "nautical", "astronomical"]),
    st.floats(0, 60),
    st.lists(
        st.tuples(st.floats(0, 359), st.floats(-5, 80)), max_size=4, unique_by=lambda pair: round(pair[0], 3)
    ),
)
@settings(max_examples=25, deadline=None, derandomize=True)
def test_anywhere_at_any_time(latitude, longitude, date, darkness, lowest, horizon):
    site = Site(latitude, longitude, time_zone="UTC", lowest_altitude_deg=lowest, horizon_deg=tuple(horizon))
    season = survey_season(
        targets(), [site], Nights(date, date, darkness), (Filter("L", "broad", 60, 1),), flip_after_s=300.0
    )
    one = season.evenings[0]
    dark = one.evening.dark_s
    assert 0.0 <= one.evening.moon_illumination <= 1.0
    for panel in range(len(PLACES)):
        windows = one.sight.windows_of(panel)
        assert all(a < b for a, b in windows)
        assert all(first[1] <= second[0] for first, second in zip(windows, windows[1:], strict=False))
        assert all(any(start <= a and b <= end for start, end in dark) for a, b in windows)
        assert bool(windows) == bool(np.isfinite(one.sight.greatest_altitude_deg[panel]))
        if windows:
            assert one.sight.greatest_altitude_deg[panel] >= lowest - 0.01
    for row in one.segments:
        assert any(a <= row.start_s < row.end_s <= b for a, b in one.sight.windows_of(row.panel))


def test_two_sites_stand_side_by_side():
    season = survey_season(targets(), [KAROO, CANARY], Nights(dt.date(2027, 1, 8), dt.date(2027, 1, 9)))
    assert [one.evening.site for one in season.evenings] == [0, 1, 0, 1]
    alone = survey(CANARY, dt.date(2027, 1, 9)).evenings[0]
    assert season.evenings[3].evening.dark_s[0] == pytest.approx(alone.evening.dark_s[0], abs=0.01)

"""Which way the telescope looks: one untouched camera followed through the flip, by a mount of two axes.

The mount here is made of rotations alone and knows nothing of the planner: a polar axis, a declination axis at
right angles to it with the telescope at its end, and a camera held at one angle on the telescope. By common
practice (no source) the telescope hangs above its counterweight: on the west side of the pier it looks east, on
the east side west.
"""

import datetime as dt
import math

import numpy as np
import pytest

from planner.answers.nights import NightsPlan
from planner.files.documents.nights import nights_document
from planner.night.settings import Filter, Nights
from planner.night.survey import Targets, survey_season
from planner.night.timetable import arrange
from planner.rig.angle_device import AngleDevice
from planner.rig.calibration import ReadFrame, calibrate

from . import sky_oracle
from .rules_verifier import seconds
from .small_season import KAROO

ZERO_DEG, READING_DEG = 112.4, 17.6
PLACE = (125.5, -45.6)
SLACK_H = 2.0 / 3600.0
"""Two ephemerides and whole seconds differ by less."""
POLE = np.array([0.0, 0.0, 1.0])


def about(axis, angle_deg):
    """Rotation about the polar axis ('z') or the declination axis ('y'), counter-clockwise."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    if axis == "z":
        return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    return np.array([[cos, 0.0, sin], [0.0, 1.0, 0.0], [-sin, 0.0, cos]])


def frame_taken(hour_angle_deg, dec_deg, looking, camera_deg):
    """Position angle of a frame's up, degrees, and the side to which the mount had to look for it.

    x points to the meridian on the equator, y to the east point, z to the pole.
    """
    beyond = looking == "east"
    axes = about("z", -hour_angle_deg + 180.0 * beyond) @ about(
        "y", -(180.0 - dec_deg if beyond else dec_deg)
    )
    side_of_pier = axes[:, 1]  # the end of the declination axis that carries the telescope
    assert (side_of_pier[1] < 0.0) == beyond
    axis, up = (
        axes[:, 0],
        axes @ [0.0, math.sin(math.radians(camera_deg)), math.cos(math.radians(camera_deg))],
    )
    cos_dec, hour = math.cos(math.radians(dec_deg)), math.radians(-hour_angle_deg)
    wanted = [cos_dec * math.cos(hour), cos_dec * math.sin(hour), math.sin(math.radians(dec_deg))]
    assert np.allclose(axis, wanted)
    east = np.cross(POLE, axis) / np.linalg.norm(np.cross(POLE, axis))
    north = np.cross(axis, east)
    return math.degrees(math.atan2(up @ east, up @ north)) % 360.0


@pytest.fixture(scope="module")
def entries():
    """Sides that the timetable names, with the hour angles at which each begins and ends."""
    targets = Targets(("A1",), np.array([PLACE[0]]), np.array([PLACE[1]]), 2.2)
    nights = Nights(dt.date(2027, 1, 14), dt.date(2027, 1, 16))
    survey = survey_season(targets, (KAROO,), nights, (Filter("Ha", "narrow", 600, 100),), flip_after_s=0.0)
    rows = nights_document(NightsPlan(None, survey, arrange(survey), (), ()))["timetable"]
    ends = [[seconds(row["from"]), seconds(row["to"])] for row in rows]
    hours = [sky_oracle.observe(KAROO, PLACE, np.array(pair)).hadec()[0].hours.tolist() for pair in ends]
    return [(row["looking"], pair) for row, pair in zip(rows, hours, strict=True)]


def test_one_camera_untouched_from_two_hours_before_the_meridian_to_two_after(entries):
    before = frame_taken(-30.0, PLACE[1], "east", ZERO_DEG + READING_DEG)
    after = frame_taken(30.0, PLACE[1], "west", ZERO_DEG + READING_DEG)
    assert abs(math.remainder(after - before, 360.0)) == pytest.approx(180.0)
    hours = [hour for _, pair in entries for hour in pair]
    assert {side for side, _ in entries} == {"east", "west"} and min(hours) < -2.0 < 2.0 < max(hours)
    device = AngleDevice("adjuster", zero_deg=ZERO_DEG)
    for looking, (start, end) in entries:
        assert (end <= SLACK_H) if looking == "east" else (start >= -SLACK_H)
        for hour in (start, end):
            angle = frame_taken(15.0 * hour, PLACE[1], looking, ZERO_DEG + READING_DEG)
            fit = calibrate([ReadFrame("a", angle, READING_DEG, looking)])
            assert fit.zero_deg == pytest.approx(ZERO_DEG)
            assert device.reading_of(angle, looking=looking) == pytest.approx(READING_DEG)


def test_below_the_pole_it_is_the_other_way_round():
    """A star under the pole moves from west to east: the telescope looks west before the lower transit."""
    targets = Targets(("A1",), np.array([125.5]), np.array([-80.0]), 2.2)
    nights = Nights(dt.date(2027, 6, 20), dt.date(2027, 6, 20))
    low = type(KAROO)(KAROO.latitude_deg, KAROO.longitude_deg, lowest_altitude_deg=10.0)
    survey = survey_season(targets, (low,), nights, (Filter("Ha", "narrow", 600, 60),), flip_after_s=600.0)
    rows = nights_document(NightsPlan(None, survey, arrange(survey), (), ()))["timetable"]
    hours = [
        float(sky_oracle.observe(low, (125.5, -80.0), seconds(row["from"])).hadec()[0].hours[0]) % 24.0
        for row in rows
    ]
    assert [row["looking"] for row in rows] == ["west", "east"]
    assert hours[0] < 12.0 <= hours[1] + 0.01

"""Position angle and reading: inverse pairs, travel, divisions."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputError
from planner.rig.angle_device import AngleDevice
from planner.rig.mount import Mount

angles = st.floats(-360.0, 360.0)
devices = st.builds(
    AngleDevice,
    st.sampled_from(["rotator", "adjuster", "fixed"]),
    zero_deg=angles,
    sense=st.sampled_from([1, -1]),
    range_deg=st.tuples(st.floats(-700, 300), st.floats(1.0, 780.0)).map(lambda pair: (pair[0], sum(pair))),
    division_deg=st.floats(0.01, 30.0),
)
periods = st.sampled_from([90.0, 180.0, 360.0])


def apart(angle, other, period):
    return abs(math.remainder(angle - other, period))


@given(devices, angles, st.sampled_from(["east", "west"]))
def test_reading_and_position_angle_are_inverse(device, angle, looking):
    reading = device.reading_of(angle, looking=looking)
    assert 0.0 <= reading < 360.0
    assert apart(device.position_angle_of(reading, looking=looking), angle, 360.0) < 1e-9


@given(devices, angles)
def test_the_same_reading_shows_the_sky_turned_by_180_degrees_looking_east(device, angle):
    reading = device.reading_of(angle)
    assert apart(device.position_angle_of(reading, looking="east"), angle + 180.0, 360.0) < 1e-9


@given(devices, angles, periods)
def test_all_readings_lie_within_the_travel_and_show_the_angle(device, angle, period):
    found = device.readings_for(angle, period_deg=period)
    low, high = device.travel_deg
    assert list(found) == sorted(found)
    for reading in found:
        assert low <= reading <= high
        assert apart(device.position_angle_of(reading), angle, period) < 1e-8
    # none is left out: a travel of n periods holds n or n + 1 of them
    assert math.floor((high - low) / period) <= len(found) <= math.floor((high - low) / period) + 1


@given(devices, angles, periods)
def test_nearest_reading_is_the_nearest(device, angle, period):
    reading, off = device.nearest_reading(angle, period_deg=period)
    low, high = device.travel_deg
    assert low <= reading <= high
    assert abs(off) <= period / 2
    assert apart(device.position_angle_of(reading), angle + off, period) < 1e-8
    if off:
        for step in range(101):
            other = device.position_angle_of(low + (high - low) * step / 100)
            assert apart(other, angle, period) >= abs(off) - 1e-8


@given(devices, st.floats(0.0, 1.0))
def test_nearest_division_stays_within_the_travel(device, share):
    low, high = device.travel_deg
    reading = low + share * (high - low)
    line = device.nearest_division(reading)
    assert low - 1e-6 <= line <= high + 1e-6
    steps = line / device.division_deg
    assert line == reading or abs(steps - round(steps)) < 1e-6
    if low + device.division_deg <= reading <= high - device.division_deg:
        assert abs(line - reading) <= device.division_deg / 2 + 1e-9


def test_the_numbers_of_the_plan_file_example():
    """Zero 112.4, position angle 130: the scale shows 17.6; looking east the same reading serves."""
    device = AngleDevice("adjuster", zero_deg=112.4)
    assert device.readings_for(130.0, period_deg=180.0) == pytest.approx((17.6, 197.6))
    assert device.reading_of(310.0, looking="east") == pytest.approx(17.6)
    assert AngleDevice("rotator", 112.4, -1).reading_of(130.0) == pytest.approx(342.4)


def test_a_zero_found_from_one_reading_holds_for_every_turn_after_it():
    """Worked by hand: at reading 350 the position angle is 20, so at reading 0 it is 30.

    Position angle 5 then stands at reading 335, and a turn by +20 from reading 350 ends at reading 10.
    """
    device = AngleDevice("rotator", zero_deg=(20.0 - 350.0) % 360.0)
    assert device.zero_deg == pytest.approx(30.0)
    assert device.reading_of(5.0) == pytest.approx(335.0)
    assert device.reading_of(device.position_angle_of(350.0) + 20.0) == pytest.approx(10.0)


def test_travel_of_less_and_more_than_a_turn():
    short = AngleDevice("adjuster", 0.0, 1, (0.0, 100.0))
    assert short.readings_for(150.0, period_deg=180.0) == ()
    assert short.nearest_reading(150.0, period_deg=180.0) == (0.0, 30.0)
    assert short.nearest_reading(120.0, period_deg=180.0) == (100.0, -20.0)
    long = AngleDevice("rotator", 0.0, 1, (-270.0, 270.0))
    assert long.readings_for(100.0, period_deg=180.0) == (-260.0, -80.0, 100.0)
    assert long.nearest_reading(100.0, period_deg=180.0) == (-80.0, 0.0)
    assert short.readings_for(10.0, period_deg=90.0) == (10.0, 100.0)  # a square sensor


def test_fixed_camera_has_one_angle():
    device = AngleDevice("fixed", 33.0)
    assert device.readings_for(213.0, period_deg=180.0) == (0.0,)
    assert device.nearest_reading(40.0, period_deg=180.0) == (0.0, pytest.approx(-7.0))


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"kind": "screw"}, "angle_device.kind"),
        ({"kind": "rotator", "sense": 0}, "angle_device.sense"),
        ({"kind": "rotator", "zero_deg": math.nan}, "angle_device.zero_deg"),
        ({"kind": "rotator", "zero_deg": 400.0}, "angle_device.zero_deg"),
        ({"kind": "rotator", "range_deg": (10.0, 10.0)}, "must rise"),
        ({"kind": "rotator", "range_deg": (0.0, 5000.0)}, "angle_device.range_deg"),
        ({"kind": "rotator", "range_deg": (0.0,)}, "angle_device.range_deg"),
        ({"kind": "rotator", "division_deg": 0.0}, "angle_device.division_deg"),
    ],
)
def test_values_out_of_range(values, words):
    with pytest.raises(InputError, match=words):
        AngleDevice(**values)


@pytest.mark.parametrize(
    ("values", "words"), [({"kind": "truss"}, "kind"), ({"flip_after_transit_min": -1}, "flip")]
)
def test_mount_out_of_range(values, words):
    with pytest.raises(InputError, match=f"mount.{words}"):
        Mount(**values)

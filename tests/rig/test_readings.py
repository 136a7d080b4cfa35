"""Readings of a whole mosaic: the least total travel, never outside the travel."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.mosaic.panel import Field
from planner.rig.angle_device import AngleDevice
from planner.rig.readings import least_travel, panel_readings, total_travel_deg

from .hand_made import FIELD, panels_at
from .test_angle_device import apart, devices

sets = st.lists(st.lists(st.floats(-400, 400), min_size=1, max_size=3), min_size=1, max_size=6)
starts = st.none() | st.floats(-400, 400)


def greedy(choices, start):
    """Always the nearest next reading; without a start, from the reading nearest to 0."""
    here, path = start, []
    for one in choices:
        here = min(one, key=lambda reading: abs(reading - (0.0 if here is None else here)))  # noqa: B023
        path.append(here)
    return path


@given(sets, starts)
def test_least_of_all_ways_and_never_worse_than_greedy(choices, start):
    chosen = least_travel(choices, start_deg=start)
    assert all(reading in one for reading, one in zip(chosen, choices, strict=True))
    travel = total_travel_deg(chosen, start_deg=start)
    best = min(total_travel_deg(path, start_deg=start) for path in itertools.product(*choices))
    assert travel == pytest.approx(best, abs=1e-6)
    assert travel <= total_travel_deg(greedy(choices, start), start_deg=start) + 1e-6


def test_a_case_in_which_greedy_loses():
    choices = [(0.0,), (80.0, -100.0), (-90.0, 260.0), (-95.0,)]
    assert least_travel(choices) == [0.0, -100.0, -90.0, -95.0]
    assert total_travel_deg(least_travel(choices)) == 115.0
    assert total_travel_deg(greedy(choices, None)) == 255.0


@given(devices, st.lists(st.floats(0, 359.9), min_size=1, max_size=8))
def test_panels_never_leave_the_travel_and_show_their_angles(device, angles):
    low, high = device.travel_deg
    for panel, reading in zip(
        panels_at(angles), panel_readings(panels_at(angles), FIELD, device), strict=True
    ):
        assert reading.name == panel.name
        assert low <= reading.reading_deg <= high
        shown = device.position_angle_of(reading.reading_deg)
        assert apart(shown, panel.position_angle_deg + reading.off_deg, 180.0) < 1e-8
        assert reading.reachable == bool(device.readings_for(panel.position_angle_deg, period_deg=180.0))
        east = device.position_angle_of(reading.reading_deg, looking="east")
        assert apart(east, shown, 180.0) < 1e-8


def test_shooting_order_decides_not_the_list():
    panels = panels_at([0.0, 90.0, 20.0])
    device = AngleDevice("rotator", 0.0, 1, (-180.0, 180.0))
    backwards = tuple(
        type(panel)(panel.name, 4 - panel.order, 1, 1, 0.0, 0.0, panel.position_angle_deg) for panel in panels
    )
    there = panel_readings(panels, FIELD, device, start_deg=0.0)
    back = panel_readings(backwards, FIELD, device, start_deg=0.0)
    assert [one.name for one in there] == [one.name for one in back] == ["A1", "A2", "A3"]
    assert [one.reading_deg for one in there] == [0.0, 90.0, 20.0]
    assert [one.reading_deg for one in back] == [0.0, -90.0 + 180.0, 20.0]


@pytest.mark.parametrize(("start", "readings"), [(150.0, [170.0, 140.0]), (-20.0, [-10.0, -40.0])])
def test_where_the_device_stands_decides_between_equal_ways(start, readings):
    device = AngleDevice("rotator", 0.0, 1, (-180.0, 180.0))
    found = panel_readings(panels_at([170.0, 140.0]), FIELD, device, start_deg=start)
    assert [one.reading_deg for one in found] == pytest.approx(readings)


def test_unreachable_angles_get_the_nearest_end():
    device = AngleDevice("adjuster", 0.0, 1, (0.0, 100.0))
    near, far = panel_readings(panels_at([90.0, 150.0]), FIELD, device)
    assert near.reachable and not far.reachable
    assert (far.reading_deg, far.off_deg, far.nearest_position_angle_deg) == (0.0, 30.0, 180.0)


def test_square_fields_repeat_every_quarter_turn():
    assert FIELD.period_deg == 180.0
    square = Field(2.0, 2.0)
    assert square.period_deg == 90.0
    device = AngleDevice("adjuster", 0.0, 1, (0.0, 90.0))
    (reading,) = panel_readings(panels_at([130.0]), square, device)
    assert reading.reachable and reading.reading_deg == pytest.approx(40.0)

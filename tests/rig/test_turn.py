"""The turn from where the device stands: the smallest that the travel allows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputError
from planner.rig.angle_device import AngleDevice
from planner.rig.turn import check_reading, smallest_turn

from .test_angle_device import apart, devices


@given(devices, st.floats(0, 1), st.floats(-360, 360), st.sampled_from([90.0, 180.0]))
def test_turn_ends_at_the_angle_and_is_the_smallest(device, share, angle, period):
    low, high = device.travel_deg
    here = low + share * (high - low)
    turn = smallest_turn(device, here, angle, period_deg=period)
    assert low <= turn.to_reading_deg <= high
    assert turn.reading_deg == pytest.approx(turn.to_reading_deg - here)
    assert turn.position_angle_deg == pytest.approx(device.sense * turn.reading_deg)
    after = device.position_angle_of(here) + turn.position_angle_deg
    assert apart(after, angle + turn.off_deg, period) < 1e-7
    for other in device.readings_for(angle, period_deg=period):
        assert abs(turn.reading_deg) <= abs(other - here) + 1e-9
    if not turn.off_deg and high - low > 2 * period and low + period / 2 < here < high - period / 2:
        assert abs(turn.reading_deg) <= period / 2 + 1e-9


@pytest.mark.parametrize("reading", [-0.1, 360.1, math.nan, math.inf])
def test_readings_outside_the_travel(reading):
    with pytest.raises(InputError, match="within the travel"):
        smallest_turn(AngleDevice("adjuster"), reading, 10.0, period_deg=180.0)
    if reading not in (-0.1, 360.1):
        with pytest.raises(InputError, match="within the travel"):
            check_reading(None, reading)

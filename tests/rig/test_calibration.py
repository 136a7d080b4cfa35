"""Calibration: zero from one frame, sense from two, scatter and outliers from more."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputError
from planner.rig.angle_device import AngleDevice
from planner.rig.calibration import ReadFrame, calibrate

senses = st.sampled_from([1, -1])
sides = st.sampled_from(["east", "west"])
zeros = st.floats(0, 359.99)


def frames_of(zero, sense, readings, *, looking="west", noise=()):
    device = AngleDevice("adjuster", zero, sense)
    noise = noise or [0.0] * len(readings)
    return [
        ReadFrame(f"f{k}", device.position_angle_of(reading, looking=looking) + error, reading, looking)
        for k, (reading, error) in enumerate(zip(readings, noise, strict=True))
    ]


def apart(a, b):
    return abs(math.remainder(a - b, 360.0))


@given(zeros, senses, st.floats(-300, 300), sides)
def test_one_frame_gives_the_zero(zero, sense, reading, looking):
    fit = calibrate(frames_of(zero, sense, [reading], looking=looking), sense=sense)
    assert apart(fit.zero_deg, zero) < 1e-9
    assert (fit.sense, fit.sense_known, fit.scatter_deg) == (sense, False, None)


@given(zeros, senses, st.floats(-100, 100), st.floats(2, 178), sides)
def test_two_frames_give_the_sense(zero, sense, first, step, looking):
    fit = calibrate(frames_of(zero, sense, [first, first + step], looking=looking), sense=-sense)
    assert apart(fit.zero_deg, zero) < 1e-9
    assert (fit.sense, fit.sense_known, fit.scatter_deg) == (sense, True, None)


@pytest.mark.parametrize("readings", [[10.0, 10.3], [10.0, 190.0], [10.0, 370.0]])
def test_readings_that_cannot_tell_the_sense(readings):
    fit = calibrate(frames_of(40.0, 1, readings), sense=-1)
    assert (fit.sense, fit.sense_known) == (-1, False)


@pytest.mark.parametrize("sense", [1, -1])
def test_more_frames_show_the_scatter(sense):
    """Zero and scatter are mean and standard deviation of what the frames say; the zero straddles 0 / 360."""
    noise = [0.3, -0.2, 0.1, -0.4, 0.2]
    fit = calibrate(frames_of(359.9, sense, [0.0, 40.0, 95.0, 210.0, 300.0], noise=noise))
    assert apart(fit.zero_deg, 359.9 + np.mean(noise)) < 1e-4  # a mean direction, not quite a plain mean
    assert fit.scatter_deg == pytest.approx(np.std(noise, ddof=1), rel=1e-3)
    assert fit.residuals_deg == pytest.approx(np.array(noise) - np.mean(noise), abs=1e-4)
    assert fit.outliers == () and not fit.contradictory


def test_an_outlier_is_named_and_left_out():
    noise = [0.1, -0.1, 12.0, 0.05, 0.0]
    fit = calibrate(frames_of(100.0, -1, [0.0, 40.0, 95.0, 210.0, 300.0], noise=noise))
    assert fit.outliers == ("f2",)
    assert apart(fit.zero_deg, 100.0125) < 1e-4
    assert fit.residuals_deg[2] == pytest.approx(11.9875, abs=1e-3)
    assert fit.scatter_deg < 0.2 and not fit.contradictory


@pytest.mark.parametrize("noise", [[0.0, 20.0], [0.0, 40.0, 100.0]])
def test_frames_that_contradict_each_other(noise):
    readings = [0.0, 50.0, 85.0][: len(noise)]
    assert calibrate(frames_of(10.0, 1, readings, noise=noise)).contradictory


def test_nothing_to_fit_and_nonsense():
    with pytest.raises(InputError, match="at least one"):
        calibrate([])
    with pytest.raises(InputError, match="must be degrees on the scale"):
        ReadFrame("f", 10.0, math.nan)

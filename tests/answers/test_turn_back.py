"""The turn that brings the angle back: which way by hand, by how much on the scale, worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from planner.answers.panel_facts import readings_deg
from planner.answers.turn_back import present_words, turn_back_lines
from planner.draw.pictures.drift_picture import drift_figure
from planner.frames.review.drift import AngleLog
from planner.rig.angle_device import AngleDevice
from tests.files.hand_made_plan import hand_made_plan


def drift_of(off_deg, *, mirrored=False):
    log = AngleLog()
    log.add("2027-01-08T20:00:00", 5.0, upside_down=False, mirrored=not mirrored)
    log.add("2027-01-10T20:00:00", off_deg, upside_down=False, mirrored=mirrored)
    return log.drift()


def words_of(off_deg, device, *, mirrored=False):
    return " ".join(turn_back_lines(hand_made_plan(device=device), drift_of(off_deg, mirrored=mirrored)))


@pytest.mark.parametrize(
    ("sense", "mirrored", "way", "trend", "readings"),
    [
        (1, False, "clockwise", "falls", "87.60 87.18 88.02"),
        (1, True, "counter-clockwise", "falls", "87.60 87.18 88.02"),
        (-1, False, "clockwise", "rises", "92.40 92.82 91.98"),
    ],
)
def test_frames_too_far_east_go_back_west(sense, mirrored, way, trend, readings):
    """Frames 0.42 degrees east of the plan's 20: position angle has to fall, clockwise seen from behind."""
    device = AngleDevice("adjuster", 112.4, sense)
    words = words_of(0.42, device, mirrored=mirrored)
    assert f"Turn the camera by 0.42° {way}, seen from behind" in words
    assert f"the reading {trend} by 0.42°. If it does not, stop" in words
    planned, slipped, moved = readings.split()
    assert f"if it shows the plan's {planned}°, the camera has moved against it: set {slipped}°" in words
    assert (
        f"If it shows {moved}°, the scale itself was moved: set {planned}°. If it shows anything else, stop"
        in words
    )
    assert words.endswith("Verify with one more solved frame.")


@pytest.mark.parametrize("sense", [1, -1])
def test_a_scale_that_slipped_shows_the_plan_s_angle_after_the_turn(sense):
    device = AngleDevice("adjuster", 112.4, sense)
    plan, off = hand_made_plan(device=device), -0.7
    slipped = replace(device, zero_deg=device.zero_deg + off)
    reading = float(readings_deg(plan)[0])
    change = device.sense * drift_of(off).turn_back_deg
    assert f"by {change:+.2f}°" in words_of(off, replace(device, kind="rotator"))
    angle = slipped.position_angle_of(reading + change)
    assert np.remainder(angle, 180.0) == pytest.approx(20.0)


@pytest.mark.parametrize("sense", [1, -1])
def test_a_scale_moved_by_hand_shows_the_reading_that_is_told(sense):
    """Nothing slipped against the scale: it reads the present angle, and the plan's reading is right again."""
    device = AngleDevice("adjuster", 112.4, sense)
    plan, off = hand_made_plan(device=device), -0.7
    present = device.reading_of(float(plan.mosaic.panels[0].position_angle_deg) + off) % 180.0
    words = words_of(off, device)
    assert (
        f"If it shows {present:.2f}°, the scale itself was moved: set {readings_deg(plan)[0]:.2f}°" in words
    )


def test_each_device_is_told_what_it_can_do():
    assert words_of(0.42, AngleDevice("rotator", 112.4)).startswith("Send the rotator by -0.42° on its scale")
    assert "reading" not in words_of(0.42, None) and "by 0.42° clockwise" in words_of(0.42, None)
    fixed = words_of(0.42, AngleDevice("fixed", 20.0))
    assert "stands at position angle 20.42°" in fixed and "zero_deg = 20.42" in fixed


def test_nothing_is_told_where_there_is_nothing_to_turn():
    plan = hand_made_plan(device=AngleDevice("adjuster", 112.4))
    assert turn_back_lines(plan, drift_of(0.004)) == ()
    assert turn_back_lines(plan, AngleLog().drift()) == ()


@pytest.mark.parametrize(
    ("off", "division", "told"),
    [
        (0.004, 1.0, "as planned"),
        (0.01, 1.0, "as planned (off by 0.01 degrees)"),
        (-0.09, 1.0, "as planned (off by 0.09 degrees)"),
        (0.11, 1.0, None),
        (0.02, 0.1, None),
        (0.49, 30.0, "as planned (off by 0.49 degrees)"),
        (0.51, 30.0, None),
    ],
)
def test_no_turn_is_ordered_that_a_hand_cannot_set(off, division, told):
    device = AngleDevice("adjuster", 112.4, division_deg=division)
    plan, drift = hand_made_plan(device=device), drift_of(off)
    words, lines = present_words(plan, drift), turn_back_lines(plan, drift)
    picture = " ".join(
        text.get_text() for text in drift_figure(drift, "Shell", limit_deg=1.0, device=device).texts
    )
    if told is None:
        assert "brings it back" in words and lines and "turn the camera by" in picture
    else:
        assert words == told and lines == () and f"the angle is {told}" in picture
    assert turn_back_lines(hand_made_plan(device=AngleDevice("rotator", 112.4)), drift) or off == 0.004


def test_the_numbers_that_are_told_add_up():
    """Unrounded 87.6 less 0.424 and plus 0.424, of a zero that is off by 0.004: each rounded, they would not."""
    plan = hand_made_plan(device=AngleDevice("adjuster", 112.404))
    (line, _) = turn_back_lines(plan, drift_of(0.424))
    assert "falls by 0.42°" in line and "plan's 87.60°" in line
    assert "set 87.18°. If it shows 88.02°" in line


def test_an_angle_that_moves_is_told_before_a_turn_is_due():
    log = AngleLog()
    for minute in range(0, 105, 5):
        date = f"2027-01-10T{20 + minute // 60}:{minute % 60:02}:00"
        log.add(date, 0.004 * minute - 0.31, upside_down=False, mirrored=False)
    drift = log.drift()
    words = present_words(hand_made_plan(device=AngleDevice("adjuster", 112.4)), drift)
    assert abs(drift.turn_back_deg) < 0.1 and words.startswith("as planned (off by 0.05 degrees, ")
    assert "it moves by +0.24 degrees an hour: see that the clamp holds)" in words


def test_a_turn_out_of_the_travel_names_no_readings():
    device = AngleDevice("adjuster", 112.4, 1, (87.5, 360.0))
    assert "the plan's" not in words_of(0.42, device)

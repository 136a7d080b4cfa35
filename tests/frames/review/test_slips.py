"""Changes of the camera angle, in nights that are made by hand."""

import datetime as dt

import numpy as np
import pytest

from planner.draw.pictures.drift_picture import drift_figure
from planner.frames.review.drift import AngleLog

EVENING = dt.datetime(2027, 1, 8, 20, 0)


def log_of(*frames):
    """Frames as (hours after the first evening, angle off, upside down, panel)."""
    log = AngleLog(["A1", "A2", "B1"])
    for number, (hours, angle, upside_down, panel) in enumerate(frames):
        log.add(
            (EVENING + dt.timedelta(hours=hours)).isoformat(),
            angle,
            upside_down=upside_down,
            panel=panel,
            turned=abs(angle) > 1.0,
            name=f"{number:02}.fits",
        )
    return log


def night(start, count, angle, panel=0, upside_down=False, step=0.25):
    """So many frames, scattered by a hundredth of a degree."""
    return [(start + k * step, angle + 0.01 * (-1) ** k, upside_down, panel) for k in range(count)]


def test_a_slip_within_a_night_is_told_and_decides_what_to_set():
    """Eight frames at +0.1, then four at +1.6: the median of the night would say 0.1, and nothing would be mended."""
    drift = log_of(*night(0, 5, 0.1), *night(1.25, 3, 0.1, 1), *night(2, 4, 1.6, 2)).drift()
    (change,) = drift.changes
    assert (change.after, change.before) == ("07.fits", "08.fits")
    assert change.change_deg == pytest.approx(1.5, abs=0.03)
    assert (change.to_day - change.from_day) * 24 == pytest.approx(0.25)
    assert [(one.panel, one.frames, one.turned) for one in change.panels] == [("B1", 4, 4)]
    assert drift.turn_back_deg == pytest.approx(-1.6, abs=0.02)


def test_after_a_slip_only_the_side_used_since_tells_the_present_angle():
    """Before the flip as planned, after it 2 degrees off: no mean of both."""
    before, after = night(0, 6, 0.0), night(2, 6, 2.0, 1, upside_down=True)
    drift = log_of(*before, *after).drift()
    (change,) = drift.changes
    assert change.at_flip and change.change_deg == pytest.approx(2.0, abs=0.03)
    assert drift.turn_back_deg == pytest.approx(-2.0, abs=0.02)
    assert [state.state for state in drift.latest] == ["upside down"]


def test_sides_that_differ_a_little_are_no_slip():
    """0.6 degrees between the sides, the same in three nights: a mount that is no cone is to blame."""
    frames = []
    for number in range(3):
        frames += night(24 * number, 6, 0.0) + night(24 * number + 3, 6, 0.6, 1, upside_down=True)
    drift = log_of(*frames).drift()
    assert drift.changes == ()
    assert drift.turn_back_deg == pytest.approx(-0.3, abs=0.02)


def test_one_odd_frame_is_no_slip():
    frames = night(0, 12, 0.0)
    frames[6] = (frames[6][0], 35.0, False, 0)
    assert log_of(*frames).drift().changes == ()
    frames = night(0, 12, 0.0)
    frames[-1] = (frames[-1][0], 2.0, False, 0)
    assert log_of(*frames).drift().changes == ()  # nothing after it shows it again


def test_a_turn_between_nights_is_told_too():
    drift = log_of(*night(0, 6, 0.0), *night(24, 6, 1.2, 1)).drift()
    (change,) = drift.changes
    assert (change.to_day - change.from_day) * 24 == pytest.approx(22.75)
    assert drift.turn_back_deg == pytest.approx(-1.2, abs=0.02)


@pytest.mark.parametrize("count", [1, 2, 5])
def test_a_slow_drift_is_no_slip_and_the_last_frames_tell_where_it_stands(count):
    """0.15 degrees an hour, evenly, through nights of six hours and the days between."""
    hours = np.concatenate([24.0 * n + np.arange(0, 6, 0.2) for n in range(count)])
    drift = log_of(*((h, 0.15 * h, h % 24 > 3, 0) for h in hours)).drift()
    assert drift.changes == ()
    assert drift.states[-1].creep_deg_per_hour == pytest.approx(0.15, abs=0.01)
    assert drift.turn_back_deg == pytest.approx(-0.15 * hours[-1], abs=0.1)


def test_the_rate_leaves_slips_out():
    """0.02 degrees a day, and a slip of 2 degrees after five nights: 0.6 degrees a month."""
    frames = [row for n in range(10) for row in night(24 * n, 5, 0.02 * n + 2.0 * (n > 4))]
    drift = log_of(*frames).drift()
    assert len(drift.changes) == 1
    assert drift.states[0].rate_deg_per_month == pytest.approx(0.6, abs=0.1)


def test_a_slip_and_its_mending_are_two_changes():
    drift = log_of(*night(0, 6, 0.0), *night(2, 4, 2.0, 1), *night(24, 6, 0.0, 2)).drift()
    assert [round(one.change_deg, 1) for one in drift.changes] == [2.0, -2.0]
    assert drift.turn_back_deg == pytest.approx(0.0, abs=0.02)


def test_the_picture_says_utc_and_marks_changes():
    drift = log_of(*night(0, 6, 0.0), *night(2, 4, 2.0, 1)).drift()
    (axes,) = drift_figure(drift, "Shell", limit_deg=1.0).axes
    assert axes.get_xlabel().endswith("UTC")
    labels = [text.get_text() for text in axes.get_legend().get_texts()]
    assert labels[0].startswith("as planned: 10 frames, last +2.0") and labels[1] == "the angle changed"
    legend, (low, high) = axes.get_legend(), axes.get_ylim()
    axes.figure.canvas.draw()
    bottom = axes.transData.inverted().transform(legend.get_window_extent())[0, 1]
    assert low < 0 and bottom > 2.01 and high > bottom  # the legend lies above every frame

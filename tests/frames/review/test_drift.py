"""Drift of the camera angle, from frames whose drift is known."""

import numpy as np
import pytest

from planner.frames.review.drift import AngleLog, date_number


def log_of(days, angles, upside_down=False, log=None):
    import datetime as dt

    log = log or AngleLog()
    for day, angle in zip(days, angles, strict=True):
        moment = dt.datetime(2027, 1, 8) + dt.timedelta(days=float(day))
        log.add(moment.isoformat(), float(angle), upside_down=upside_down)
    return log


def test_rate_and_turn_back_of_a_steady_drift():
    """0.02 degrees a day from +0.1: 0.6 a month, and 0.7 after 30 days; outliers do not matter."""
    days = np.arange(0, 31, 0.5)
    angles = 0.1 + 0.02 * days
    angles[10] = 40.0
    drift = log_of(days, angles).drift()
    assert [state.state for state in drift.states] == ["as planned"]
    assert drift.states[0].rate_deg_per_month == pytest.approx(0.6, abs=0.01)
    assert drift.turn_back_deg == pytest.approx(-0.7, abs=0.02)


def test_pointing_states_are_told_apart():
    log = log_of([0, 1, 2], [0.2, 0.2, 0.2])
    drift = log_of([0.3, 1.3, 2.3], [0.6, 0.6, 0.6], upside_down=True, log=log).drift()
    assert [state.now_deg for state in drift.states] == [0.2, 0.6]
    assert drift.turn_back_deg == pytest.approx(-0.4)  # between the two


def test_one_night_has_no_rate_and_no_date_no_drift():
    assert log_of([0, 0.1], [0.1, 0.3]).drift().states[0].rate_deg_per_month is None
    log = AngleLog()
    log.add(None, 1.0, upside_down=False)
    log.add("yesterday", 1.0, upside_down=False)
    drift = log.drift()
    assert (drift.states, drift.turn_back_deg) == ((), None)


def test_dates_of_the_fits_standard():
    """FITS Standard 4.0, 4.4.2.2: YYYY-MM-DDThh:mm:ss.s, the time may be left out."""
    assert date_number("2000-01-01T12:00:00") == 0.5
    assert date_number("2000-01-02") == 1.0
    assert date_number("2000-01-01T06:00:00.000Z") == 0.25
    assert date_number("01/02/99") is None

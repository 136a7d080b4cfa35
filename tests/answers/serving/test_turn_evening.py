"""The evening to turn, against every evening and every pair of angles."""

import numpy as np
import pytest

from planner.answers.serving import FittingAngles, best_turn_evening, serve_most
from planner.rig.angle_device import AngleDevice

from .made_up import divisions, some_fitting, table

DEVICE = AngleDevice("adjuster", zero_deg=112.4, division_deg=7.5)


def hours_of(count, evenings, seed):
    """Each target has its months: hours rise and fall."""
    rng = np.random.default_rng(seed)
    middle, width = rng.uniform(-10, evenings + 10, (count, 1)), rng.uniform(5, 20, (count, 1))
    return np.maximum(0.0, 8.0 - ((np.arange(evenings) - middle) / width) ** 2)


@pytest.mark.parametrize(("seed", "period"), [(0, 180.0), (1, 180.0), (2, 90.0)])
def test_every_evening_and_every_pair(seed, period):
    fitting = some_fitting(30, seed, period=period)
    hours = hours_of(30, 40, seed)
    held = table(fitting, divisions(DEVICE, period)).astype(float)
    by_evening = [
        max(float(one @ hours[:, :evening].sum(axis=1)) for one in held)
        + max(float(one @ hours[:, evening:].sum(axis=1)) for one in held)
        for evening in range(41)
    ]
    found = best_turn_evening(fitting, hours, DEVICE)
    assert found.hours_by_evening == pytest.approx(by_evening)
    assert found.hours == pytest.approx(max(by_evening[1:-1])) == pytest.approx(by_evening[found.evening])
    assert found.hours_without == pytest.approx(by_evening[0])
    sides = zip(found.angles_deg, (slice(None, found.evening), slice(found.evening, None)), strict=True)
    timed = [table(fitting, [angle])[0] * hours[:, side].sum(axis=1) for angle, side in sides]
    assert sum(map(np.sum, timed)) == pytest.approx(found.hours)
    assert found.targets == np.count_nonzero(sum(timed))
    assert len(found.readings_deg) == 2


def test_clear_cut_season():
    """One target in the first ten evenings, the other from the twentieth on: the turn lies between."""
    fitting = FittingAngles(("A", "B"), (((10.0, 20.0),), ((100.0, 110.0),)), (1.0, 1.0))
    hours = np.zeros((2, 30))
    hours[0, :10], hours[1, 20:] = 6.0, 5.0
    found = best_turn_evening(fitting, hours, DEVICE)
    assert 10 <= found.evening <= 20 and found.evening == 15
    assert (found.hours, found.hours_without, found.targets) == (110.0, 60.0, 2)
    swapped = best_turn_evening(fitting, hours[:, ::-1], DEVICE)
    assert swapped.angles_deg == found.angles_deg[::-1]


def test_a_turn_may_gain_nothing():
    fitting = FittingAngles(("A",), (((0.0, 180.0),),), (1.0,))
    found = best_turn_evening(fitting, np.ones((1, 5)), DEVICE)
    assert found.hours == found.hours_without == 5.0


def test_one_evening_cannot_be_split():
    assert best_turn_evening(some_fitting(3, 0), np.ones((3, 1))) is None


def test_fixed_camera_is_not_turned():
    service = serve_most(some_fitting(3, 0), AngleDevice("fixed"), evening_hours=np.ones((3, 9)))
    assert service.turn is None

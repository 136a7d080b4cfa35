"""Which camera angles share flats: within a degree, a flip being no turn (common practice, no source)."""

import pytest

from planner.rig.flats import FLAT_ANGLE_DEG, flat_angles, flat_words


@pytest.mark.parametrize(
    ("angles", "numbers"),
    [
        ([], ()),
        ([20.0, 20.0], (0, 0)),
        ([20.0, 21.0, 21.1], (0, 0, 1)),
        ([359.6, 0.4, 180.2], (0, 0, 0)),
        ([0.0, 90.0, 180.0, 270.0], (0, 1, 0, 1)),
    ],
)
def test_angles_in_groups(angles, numbers):
    assert flat_angles(angles).numbers == numbers


def test_readings_are_told_apart_all_around():
    found = flat_angles([10.0, 190.0, 370.0], 360.0)
    assert found.numbers == (0, 1, 0) and found.angles_deg == (10.0, 190.0)
    assert found.near(189.5) == 1 and found.near(100.0) is None
    assert found.near(190.0 + FLAT_ANGLE_DEG + 0.01) is None


def test_words():
    assert flat_words([], None) == "flats"
    assert flat_words(["Ha"], 20.0, float("nan")) == "flats in Ha at 20.00°"

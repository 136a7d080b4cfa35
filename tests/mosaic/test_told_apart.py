"""A number that falls short is written with as many digits as it takes to see it."""

import pytest

from planner.mosaic.mosaic import told_apart


@pytest.mark.parametrize(
    ("found", "asked", "words"),
    [
        (14.9, 15.0, ("14.90", "15")),
        (14.99999, 15.0, ("14.99", "15")),
        (15.12341, 15.12344, ("15.12341", "15.12344")),
        (15.124, 15.1248, ("15.124", "15.125")),
        (0.0, 2.5, ("0.00", "2.5")),
        (99.9999999, 100.0, ("99.99", "100")),
    ],
)
def test_both_numbers_differ_and_the_lesser_is_rounded_down(found, asked, words):
    assert told_apart(found, asked) == words
    assert float(words[0]) <= found


@pytest.mark.parametrize("less", [10.0**-power for power in range(1, 9)])
def test_however_little_is_missing(less):
    for asked in (0.123456789, 7.0, 15.0, 33.333333333, 90.0):
        low, least = told_apart(asked * (1 - less), asked)
        assert low != least and float(low) < float(least)

"""Where a mount flips, and to which side the telescope looks."""

import pytest

from planner.night.meridian import cut_at_flips, flips_within
from planner.night.observer import TURN_S
from planner.night.settings import Site
from planner.night.spans import common, length_s, without
from planner.night.unseen import greatest_altitude_deg, latitudes_deg

HOUR = 3600.0


def test_a_span_over_the_transit_is_cut_at_the_flip():
    pieces = cut_at_flips((-HOUR, HOUR), 0.0, 600.0)
    assert pieces == [((-HOUR, 600.0), "east"), ((600.0, HOUR), "west")]


def test_a_span_may_lie_on_one_side_only():
    assert cut_at_flips((HOUR, 2 * HOUR), 0.0, 600.0) == [((HOUR, 2 * HOUR), "west")]
    assert cut_at_flips((-HOUR, 500.0), 0.0, 600.0) == [((-HOUR, 500.0), "east")]


def test_the_lower_transit_turns_the_mount_back():
    half = TURN_S / 2
    pieces = cut_at_flips((half - HOUR, half + HOUR), 0.0, 600.0)
    assert [side for _, side in pieces] == ["west", "east"]
    assert pieces[0][0][1] == pytest.approx(half)


def test_any_transit_of_the_panel_will_do():
    one, two = (cut_at_flips((0.0, 20 * HOUR), transit, 0.0) for transit in (5 * HOUR, 5 * HOUR - 3 * TURN_S))
    assert [side for _, side in one] == [side for _, side in two] == ["east", "west", "east"]
    assert one[0][0] == pytest.approx(two[0][0])


def test_mounts_that_never_flip():
    assert cut_at_flips((0.0, 10.0), 5.0, None) == [((0.0, 10.0), None)]
    assert flips_within((0.0, 10.0), 5.0, None) == []
    assert flips_within((0.0, HOUR), 1200.0, 600.0) == [1800.0]


def test_spans():
    assert common([(0, 10)], [(2, 3), (5, 20)]) == [(2, 3), (5, 10)]
    assert without([(0, 10)], []) == [(0, 10)]
    assert without([(0, 10)], [(-5, 20)]) == []
    assert length_s(without([(0, 10), (20, 30)], [(5, 25)])) == 10


def test_from_which_latitude_a_target_rises():
    assert greatest_altitude_deg(Site(52.0, 0.0), -45.0) == -7.0
    assert latitudes_deg([-45.0], 30.0) == (-90.0, 15.0)
    assert latitudes_deg([60.0, 80.0], 30.0) == (20.0, 90.0)
    south, north = latitudes_deg([-70.0, 70.0], 30.0)
    assert south > north  # no latitude shows both

"""Turns of the camera: counted, and spared at no cost to the goal."""

from itertools import permutations, product

import numpy as np
import pytest

from planner.night.lift import lifted
from planner.night.survey import survey_season
from planner.night.timetable import arrange
from planner.night.turns.fewer_turns import Turning, in_turn
from tests.night import small_season as small
from tests.night.test_lift import cost, filled


def turns_of(settings, timetable):
    row = [settings[block.panel] for block in timetable.blocks]
    return sum(a != b for a, b in zip(row, row[1:], strict=False))


def test_turns_are_counted_for_each_site_by_itself():
    turning = Turning((0, 1), (0, 1, 0, 1))
    assert turning.turns({0: [0, 1], 1: [1], 2: [1, 0], 3: [1]}) == 2
    assert not Turning((3, 3), (0,)).several


@pytest.mark.parametrize("seed", range(4))
def test_no_order_of_whole_groups_needs_fewer_turns(seed):
    """Every way to order the settings of every night, counted one by one."""
    random = np.random.default_rng(seed)
    turning = Turning((0, 1, 2), (0, 0, 0, 0))
    nights = {night: random.integers(0, 3, int(random.integers(1, 5))).tolist() for night in range(4)}
    found = in_turn(turning, nights, lambda night, places: 0.0)
    ours = turning.turns({night: [nights[night][n] for n in places] for night, places in found.items()})
    assert all(sorted(found[night]) == list(range(len(jobs))) for night, jobs in nights.items())
    ways = product(*(list(permutations(dict.fromkeys(jobs))) for jobs in nights.values()))
    assert ours == min(turning.turns(dict(enumerate(way))) for way in ways)


def test_an_order_that_does_not_fit_is_not_taken():
    turning = Turning((0, 1), (0,))
    only = (0, 1, 2)
    assert in_turn(turning, {0: [0, 1, 0]}, lambda night, places: 0.0 if places == only else None) == {
        0: only
    }


@pytest.mark.parametrize("cheapest", [False, True])
def test_fewer_turns_cost_nothing_and_leave_the_same_work(cheapest):
    season, before, prices = filled(cheapest)
    settings = (0, 1, 1, 0)
    per_job = tuple(one for one in settings for _ in small.FILTERS)
    turning = Turning(per_job, (0,) * len(season.date))
    plain, spared = lifted(season, before, prices), lifted(season, before, prices, turning)

    def jobs(one):
        return {night: [block.job for block in row] for night, row in one.blocks.items()}

    assert turning.turns(jobs(spared)) < turning.turns(jobs(plain))
    assert cost(spared.blocks, prices) <= cost(before.blocks, prices)
    assert (
        max(night for night, row in spared.blocks.items() if row)
        <= max(night for night, row in plain.blocks.items() if row)
        or cheapest
    )
    for done in (spared, plain):
        found = sorted((one.job, one.exposures) for row in done.blocks.values() for one in row)
        assert found == sorted((one.job, one.exposures) for row in before.blocks.values() for one in row)
    for row in spared.blocks.values():
        assert all(a.end_s <= b.start_s for a, b in zip(row, row[1:], strict=False))


def test_a_camera_that_nobody_turns_changes_nothing():
    survey = survey_season(small.targets(), (small.KAROO,), small.nights(), small.FILTERS, flip_after_s=600.0)
    plain = arrange(survey)
    assert arrange(survey, settings=(7, 7, 7, 7)).blocks == plain.blocks
    spared = arrange(survey, settings=(0, 1, 1, 0))
    assert spared.last == plain.last
    assert turns_of((0, 1, 1, 0), spared) < turns_of((0, 1, 1, 0), plain)

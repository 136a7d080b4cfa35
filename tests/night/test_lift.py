"""Blocks brought nearer to their transits: nothing else changes, and in an order no better times exist."""

from functools import cache

import numpy as np
import pytest
from scipy.optimize import minimize

from planner.night.fill_season import Season, fill_season, rank
from planner.night.lift import _Item, _Spans, _starts, lifted
from planner.night.survey import survey_season
from planner.night.workload import Opening, make_workload

from . import small_season as small


@cache
def filled(cheapest):
    survey = survey_season(small.targets(), (small.KAROO,), small.nights(), small.FILTERS, flip_after_s=600.0)
    wanted = np.tile([one.exposures for one in small.FILTERS], (len(small.PLACES), 1))
    work = make_workload(survey, wanted)
    lit = np.array([one.evening.moon_illumination for one in survey.evenings])
    price = np.where(lit >= 0.55, 540.0, 880.0) * cheapest
    order = np.lexsort((np.arange(len(price)), price)).tolist()
    season = Season(work, np.arange(1, len(price) + 1), price, tuple(order), len(order))
    return season, fill_season(season), [(540.0 if one >= 0.55 else 880.0, "ZAR") for one in lit]


def cost(blocks, prices):
    return sum(prices[night][0] * (one.end_s - one.start_s) for night, row in blocks.items() for one in row)


@pytest.mark.parametrize("cheapest", [False, True])
def test_the_goal_is_kept_and_blocks_stand_higher(cheapest):
    season, before, prices = filled(cheapest)
    after = lifted(season, before, prices)
    assert cost(after.blocks, prices) <= cost(before.blocks, prices)
    old, new = rank(season, before), rank(season, after)
    assert new[0] == old[0] and new[1] <= old[1] and new[2] < old[2]
    jobs = [
        sorted((one.job, one.exposures) for blocks in one.blocks.values() for one in blocks)
        for one in (before, after)
    ]
    assert jobs[0] == jobs[1]
    again = rank(season, lifted(season, after, prices))
    assert again[2] == pytest.approx(new[2], abs=1e-3), "what has been lifted stays"


@pytest.mark.parametrize("cheapest", [False, True])
def test_no_block_can_slide_nearer_to_its_transit(cheapest):
    season, before, prices = filled(cheapest)
    for night, blocks in lifted(season, before, prices).blocks.items():
        spans = _Spans(season.work.openings[night])
        ends = [-np.inf, *(one.end_s for one in blocks), np.inf]
        starts = [-np.inf, *(one.start_s for one in blocks), np.inf]
        for number, one in enumerate(blocks, start=1):
            segment = spans.holding(one)
            early = spans.transit_s[segment] - (one.start_s + one.end_s) / 2.0
            least = max(ends[number - 1], spans.start_s[segment])
            most = min(starts[number + 1], spans.end_s[segment])
            touching = (one.end_s >= most) if early > 0 else (one.start_s <= least)
            assert touching or abs(early) <= 1.0


@pytest.mark.parametrize("seed", range(6))
def test_times_in_a_given_order_agree_with_a_general_solver(seed):
    """scipy's SLSQP on the same convex task: least length times squared distance, blocks in order, in their spans."""
    random = np.random.default_rng(seed)
    count = int(random.integers(2, 6))
    transit = random.uniform(0, 30000, count).round()
    start = random.uniform(0, 4000, count).round()
    end = random.uniform(26000, 30000, count).round()
    length = random.integers(900, 4000, count)
    opening = Opening(np.arange(count), start, end, transit, np.ones(count, bool), np.ones(count))
    items = [_Item(job, 1, int(length[job]), job) for job in range(count)]
    found = np.array(_starts(_Spans(opening), items), dtype=float)

    def strain(x):
        return float(np.sum(length * (x + length / 2 - transit) ** 2)) / 1e12

    follow = {"type": "ineq", "fun": lambda x: np.diff(x) - length[:-1]}
    best = minimize(strain, found, bounds=list(zip(start, end - length, strict=True)), constraints=[follow])
    assert np.all(np.diff(found) >= length[:-1]) and np.all(found >= start)
    assert np.all(found + length <= end)
    assert strain(found) <= best.fun + 1e-6 * max(1.0, best.fun)


def test_blocks_that_do_not_fit_in_an_order_have_no_times():
    opening = Opening(
        np.arange(2), np.array([0.0, 0.0]), np.array([100.0, 60.0]), np.zeros(2), np.ones(2, bool), np.ones(2)
    )
    items = [_Item(0, 1, 50, 0), _Item(1, 1, 50, 1)]
    assert _starts(_Spans(opening), items) is None
    assert _starts(_Spans(opening), items[::-1]) == (0, 50)

"""Timetables: checked by a verifier that knows only the rules, and against every possible timetable."""

import copy
import datetime as dt
import itertools
import operator
from functools import cache

import numpy as np
import pytest

from planner.answers.nights import NightsPlan
from planner.errors import InputError
from planner.files.documents.nights import nights_document
from planner.night.bound import make_relaxation
from planner.night.fill_season import Season, fill_season, rank
from planner.night.settings import Filter, Site
from planner.night.survey import survey_season
from planner.night.timetable import arrange
from planner.night.workload import Opening, Workload

from . import small_season as small
from .rules_verifier import complaints, seconds


def planned(
    sites=(small.KAROO,), *, filters=small.FILTERS, goal="soonest", flip_after_s=600.0, wanted=None, **changes
):
    """The document of a small season, its survey and its timetable."""
    season = survey_season(
        small.targets(), sites, small.nights(**changes), filters, flip_after_s=flip_after_s
    )
    timetable = arrange(season, goal=goal, wanted=wanted)
    return nights_document(NightsPlan(None, season, timetable, (), ())), season, timetable


@cache
def usual():
    return planned()


def verify(
    document, sites=(small.KAROO,), *, filters=small.FILTERS, flip_after_min=10, wanted=None, **changes
):
    jobs = itertools.product(small.PLACES, filters)
    usual = np.tile([one.exposures for one in filters], len(small.PLACES))
    counts = usual if wanted is None else np.ravel(wanted)
    return complaints(
        document,
        places=small.PLACES,
        wanted={(panel, one.name): int(count) for (panel, one), count in zip(jobs, counts, strict=True)},
        sites=sites,
        nights=small.nights(**changes),
        filters=filters,
        flip_after_min=flip_after_min,
    )


@pytest.mark.parametrize("goal", ["soonest", "cheapest"])
def test_a_timetable_keeps_every_rule(goal):
    document, _, timetable = usual() if goal == "soonest" else planned(goal=goal)
    assert verify(document) == []
    assert timetable.finished and timetable.bound.gap < 0.3


def test_a_season_that_is_too_short_places_what_it_can_and_says_what_is_missing():
    document, _, timetable = planned(last=dt.date(2027, 1, 16))
    assert verify(document, last=dt.date(2027, 1, 16)) == []
    assert document["missing"] and not document["finished"]
    assert timetable.bound.kind == "exposure_hours" and timetable.bound.gap < 0.1
    assert {row["reason"] for row in document["missing"]} <= {
        "no time left in the season",
        "in all its windows the Moon is too near or too bright, or the Sun too near",
    }


def test_two_sites_work_at_once():
    both = (small.KAROO, small.CANARY)
    document, _, _ = planned(both)
    alone, _, _ = usual()
    assert verify(document, both) == []
    assert {entry["site"] for entry in document["timetable"]} == {"Karoo pier"}  # the south is never up there
    assert document["evening_of_last"] == alone["evening_of_last"]
    second = Site(-27.0, -69.5, "Andes pier", 2400, "America/Santiago", 30, (), "ZAR", ((0.0, 100.0),))
    document, _, _ = planned((small.KAROO, second))
    assert verify(document, (small.KAROO, second)) == []
    assert {entry["site"] for entry in document["timetable"]} == {"Karoo pier", "Andes pier"}
    assert document["evening_of_last"] < alone["evening_of_last"]


def test_a_mount_that_never_flips_looks_to_no_side():
    document, _, _ = planned(flip_after_s=None)
    assert verify(document, flip_after_min=None) == []


def test_what_is_done_already_is_not_shot_again():
    wanted = np.array([[0, 8, 0], [0, 0, 0], [3, 0, 0], [0, 0, 1]])
    document, _, _ = planned(wanted=wanted)
    assert verify(document, wanted=wanted) == []
    assert {(entry["panel"], entry["filter"]) for entry in document["timetable"]} == {
        ("A1", "OIII"),
        ("B1", "Ha"),
        ("B2", "L"),
    }


def test_nothing_wanted_is_finished_at_once():
    document, _, timetable = planned(wanted=np.zeros((4, 3), int))
    assert document["finished"] and document["timetable"] == [] and "evening_of_last" not in document
    assert timetable.hours_used == 0.0 and timetable.bound is None


def test_cheapest_costs_no_more_and_soonest_ends_no_later():
    soon, cheap = usual()[2], planned(goal="cheapest")[2]
    assert cheap.cost["ZAR"] < soon.cost["ZAR"]
    assert soon.last <= cheap.last


def test_cheapest_without_prices_takes_the_fewest_hours():
    free = Site(-31.2, 22.6, "Karoo pier", 1750, "Africa/Johannesburg", 30)
    document, _, timetable = planned((free,), goal="cheapest")
    assert verify(document, (free,)) == []
    assert "cost" not in document and timetable.bound.kind == "hours" and timetable.bound.gap < 0.02


def test_cheapest_refuses_two_currencies():
    euro = Site(-27.0, -69.5, "Andes pier", currency="EUR", hour_price=((0.0, 40.0),))
    with pytest.raises(InputError, match="one currency, got EUR and ZAR"):
        planned((small.KAROO, euro), goal="cheapest")
    document, _, timetable = planned((small.KAROO, euro))
    assert set(timetable.cost) == {"EUR", "ZAR"} and set(document["costs"]) == {"EUR", "ZAR"}


def test_an_exposure_longer_than_any_window_is_missing_with_its_reason():
    long = (Filter("Ha", "narrow", 36_000, 1),)
    document, _, _ = planned(filters=long)
    assert {row["reason"] for row in document["missing"]} == {"no window is long enough for a block"}
    assert document["timetable"] == []


def test_a_moon_that_is_too_near_all_the_time_is_the_reason():
    strict = (Filter("L", "broad", 60, 2, moon_separation_deg=180),)
    document, _, _ = planned(filters=strict, first=dt.date(2027, 1, 22), last=dt.date(2027, 1, 23))
    assert all("Moon is too near" in row["reason"] for row in document["missing"])
    assert len(document["missing"]) == 4


def test_no_darkness_at_all():
    north = Site(60.0, 20.0, "north", time_zone="Europe/Helsinki")
    document, _, _ = planned((north,), first=dt.date(2027, 6, 20), last=dt.date(2027, 6, 22))
    assert document["timetable"] == [] and len(document["missing"]) == 12
    assert "dark_from" not in document["nights"][0]
    assert {row["reason"] for row in document["missing"]} == {"never high enough in the dark"}


def test_the_same_season_gives_the_same_timetable():
    assert planned()[0] == usual()[0]


BREAKS = {
    "length": lambda entry: entry.update(to=f"{entry['to'][:17]}{(int(entry['to'][17:19]) + 30) % 60:02d}Z"),
    "side": lambda entry: entry.update(looking="west" if entry["looking"] == "east" else "east"),
    "count": lambda entry: entry.update(exposures=entry["exposures"] + 1),
    "day": lambda entry: entry.update({"from": "2027-01-14T13:00:00Z", "to": "2027-01-14T15:00:00Z"}),
    "filter": lambda entry: entry.update(filter="L" if entry["filter"] != "L" else "Ha"),
}


@pytest.mark.parametrize("broken", BREAKS)
def test_the_verifier_finds_what_is_broken(broken):
    document = copy.deepcopy(usual()[0])
    BREAKS[broken](document["timetable"][3])
    assert verify(document)


def test_the_verifier_finds_an_overlap_and_a_wrong_sum():
    document = copy.deepcopy(usual()[0])
    document["timetable"].append(document["timetable"][0])
    document["cost"] += 1
    texts = verify(document)
    assert any("runs into" in text for text in texts) and any("cost" in text for text in texts)


def test_blocks_follow_each_other_without_idle_time_where_work_is_open():
    document, _, _ = planned(filters=small.FILTERS[:1])
    first = [entry for entry in document["timetable"] if entry["evening"] == "2027-01-14"]
    gaps = [seconds(b["from"]) - seconds(a["to"]) for a, b in itertools.pairwise(first)]
    assert max(gaps) < 1800


# Tiny seasons, every timetable tried.


def tiny(seed, *, priced):
    """A season of 3 nights and 3 jobs; times are small whole numbers of ten minutes."""
    random = np.random.default_rng(seed)
    jobs, nights = 3, 3
    exposure = 600.0 * random.integers(2, 6, jobs)
    wanted = random.integers(1, 4, jobs).astype(float)
    overhead, least = 600.0 * random.integers(0, 4), np.ones(jobs)
    openings = []
    for night in range(nights):
        rows = []
        for job in range(jobs):
            start = 1000 * night + int(random.integers(0, 12))
            end = start + int(random.integers(3, 18))
            cut = start + int(random.integers(0, 10))
            rows += [
                (job, 600.0 * a, 600.0 * b)
                for a, b in ((start, min(cut, end)), (min(cut, end), end))
                if b > a
            ]
        job, start, end = (np.array(column) for column in zip(*rows, strict=True))
        most = np.minimum(wanted[job], np.floor((end - start - overhead) / exposure[job] + 1e-9))
        keep = most > 0
        flags = np.zeros(keep.sum(), bool)
        openings.append(Opening(job[keep], start[keep], end[keep], start[keep], flags, most[keep]))
    most = np.zeros(jobs)
    for opening in openings:
        np.maximum.at(most, opening.job, opening.most)
    possible = np.where(most > 0, wanted, 0.0)
    work = Workload(possible, wanted - possible, exposure, least, most, overhead, 1, tuple(openings))
    price = random.integers(1, 4, nights) * 100.0 if priced else np.zeros(nights)
    order = np.lexsort((np.arange(nights), price)).tolist()
    relaxation = make_relaxation(work, np.arange(jobs) * 1.0)
    fewest = relaxation.fewest_nights(order)
    horizon = nights if fewest is None else fewest
    return Season(work, np.arange(1, nights + 1), price, tuple(order), horizon), relaxation


def best_of_all(season):
    """Least (missing, goal) over every timetable, in plain numbers."""
    price, exposure_s = season.price.tolist(), season.work.exposure_s.tolist()
    overhead_s = float(season.work.overhead_s)
    nights = [
        list(zip(one.job.tolist(), one.start_s.tolist(), one.end_s.tolist(), strict=True))
        for one in season.work.openings
    ]

    @cache
    def least(night, time, left):
        """Least (missing seconds, last evening, price) from here on."""
        if night == len(nights):
            return (sum(map(operator.mul, left, exposure_s)), 0, 0.0)
        best = least(night + 1, -1.0, left)
        for job, opens, closes in nights[night]:
            start = max(time, opens)
            for count in range(1, left[job] + 1):
                length = overhead_s + count * exposure_s[job]
                if start + length > closes + 1e-9:
                    break
                rest = (*left[:job], left[job] - count, *left[job + 1 :])
                missing, last, spent = least(night, start + length, rest)
                found = (missing, max(last, night + 1), spent + price[night] * length / 3600)
                best = min(best, found, key=lambda one: (one[0], one[1] if season.soonest else one[2]))
        return best

    missing, last, spent = least(0, -1.0, tuple(int(one) for one in season.work.wanted))
    return missing, last if season.soonest else round(spent, 6)


@pytest.mark.parametrize(("priced", "missed"), [(False, 0), (True, 1)])
def test_tiny_seasons_reach_the_optimum_over_all_timetables(priced, missed):
    # of a hundred such seasons the cheapest timetable is missed in two, by a block's overhead
    seasons = [tiny(seed, priced=priced) for seed in range(20)]
    optima = [best_of_all(season) for season, _ in seasons]
    found = [rank(season, fill_season(season))[:2] for season, _ in seasons]
    assert all(ours >= (best[0] - 1e-6, best[1] - 1e-3) for ours, best in zip(found, optima, strict=True))
    assert [ours[0] for ours in found] == pytest.approx([best[0] for best in optima], abs=1e-3)
    same = [np.allclose(ours, best, atol=1e-3) for ours, best in zip(found, optima, strict=True)]
    assert len(same) - sum(same) <= missed
    assert any(best[0] > 0 for best in optima) and any(best[0] == 0 for best in optima)


def test_no_timetable_beats_the_relaxation():
    for seed in range(25, 55):
        season, relaxation = tiny(seed, priced=True)
        best = best_of_all(season)
        missing, cost = relaxation.cost(season.order, [season.price[night] / 3600 for night in season.order])
        assert missing <= best[0] + 1e-3
        if best[0] == 0.0:
            assert cost <= best[1] + 1e-3
            soonest = tiny(seed, priced=False)
            assert soonest[0].first_finish <= best_of_all(soonest[0])[1]

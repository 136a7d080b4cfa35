"""Where a mosaic stands: every number against the review, the nights, or by hand; at a pier in each hemisphere."""

import datetime as dt
import json
from dataclasses import replace
from functools import cache
from unittest.mock import patch

import numpy as np
import pytest

import planner
from planner.answers.nights import plan_nights
from planner.answers.panel_facts import exposures_wanted
from planner.answers.progress import check_progress, progress_of, remaining_nights
from planner.answers.progress.ahead import coming_evening
from planner.answers.progress.so_far import evening_of
from planner.answers.progress.words import facts, no_work_words, shortfall
from planner.errors import InputError
from planner.files.documents.nights import nights_document
from planner.files.documents.progress import progress_document
from planner.files.documents.review import FrameSpool, review_document, review_pieces
from planner.files.documents.reviewed import read_shot
from planner.frames.review.limits import Limits
from planner.frames.review.review import review_folder
from planner.night.prices import price_at
from planner.night.settings import Filter
from planner.request.panels import PanelRequest
from tests.frames.small_plan import small_plan, write_solved

from .scene import FILTERS, NIGHTS, NORTH, SOUTH, evening_text, local, plan_at, reviewed, shoot, whole_season

pytestmark = pytest.mark.usefixtures("made_once")
BOTH = pytest.mark.parametrize("site", [SOUTH, NORTH], ids=["south", "north"])
EARLY = dt.date(2027, 1, 1)
SECONDS_H = 20 / 3600
"""What whole seconds of DATE-OBS and of blocks come to in a season."""


@pytest.fixture(autouse=True, scope="module")
def seasons_made_once():
    """The nights of a whole plan are worked out once for all tests; those of what remains each time."""
    once = cache(plan_nights)
    home = "planner.answers.progress.remaining.plan_nights"
    with patch(home, lambda plan, goal, progress: once(plan, goal=goal)):
        yield


def standing_of(plan, folder, now=EARLY, **more):
    return progress_of(plan, reviewed(plan, folder), now=now, **more)


def key_of(row):
    return row["name"], row.get("filter")


@BOTH
def test_seconds_and_counts_are_the_reviews_own(tmp_path, site):
    plan = plan_at(site)
    shoot(tmp_path, plan, keep=lambda number: number % 5)
    review = reviewed(plan, tmp_path)
    rows = progress_document(progress_of(plan, review, now=EARLY))["panels"]
    counted = review_document(review)["panels"]
    assert [{name: row[name] for name in counted[0]} for row in rows] == counted
    lengths = {one.name: one.exposure_s for one in FILTERS}
    assert all(row["wanted_seconds"] == row["wanted"] * lengths[row["filter"]] for row in rows)
    assert {row["exposures"] for row in rows} > {4}


def test_share_counts_no_panel_above_its_wish(tmp_path):
    """Six panels want 6 x 4 x 600 s through Ha. A1 has 10 exposures, of which 4 count; B2 has one of 900 s."""
    plan = plan_at()
    panels = {one.name: one for one in plan.mosaic.panels}
    for number in range(10):
        write_solved(tmp_path / f"a{number}.fits", panels["A1"], DATE__OBS=f"2027-01-08T20:{number:02d}:00")
    write_solved(tmp_path / "b.fits", panels["B2"], EXPTIME=900.0)
    standing = standing_of(plan, tmp_path)
    assert standing.shares["Ha"] == pytest.approx((4 * 600 + 900) / (6 * 4 * 600), abs=1e-6)
    assert standing.shares["L"] == 0.0
    wanted = {(row.name, row.filter): row.missing for row in standing.rows}
    assert (wanted["A1", "Ha"], wanted["B2", "Ha"], wanted["B1", "Ha"]) == (0, 3, 4)


@pytest.mark.parametrize(("site", "goal"), [(SOUTH, "soonest"), (NORTH, "cheapest"), (NORTH, "soonest")])
def test_what_is_ahead_is_the_nights_of_what_remains(tmp_path, site, goal):
    """The same by another way: review.json, read as `nights --done` reads it, and the plan's nights from then on."""
    plan = plan_at(site)
    shoot(tmp_path / "frames", plan, evenings=1, keep=lambda number: number % 3)
    standing = standing_of(plan, tmp_path / "frames", now=dt.date(2027, 1, 12), goal=goal)
    found = progress_document(standing)
    review = {"schema": "review 1", **review_document(standing.review)}
    (tmp_path / "review.json").write_text(json.dumps(review))
    later = replace(
        NIGHTS, first=dt.date(2027, 1, 12), clear_fraction=standing.so_far.clear_fraction_met or 0.7
    )
    remaining = replace(plan, request=replace(plan.request, nights=later))
    nights = plan_nights(remaining, goal=goal, done=read_shot(tmp_path / "review.json", plan).done)
    document = nights_document(nights)
    for row in found["panels"]:
        hours = [night["panels"][row["name"]].get("filter_hours", {}) for night in document["nights"]]
        assert row["nights_left"] == sum(one.get(row["filter"], 0.0) > 0.0 for one in hours)
    tonight = [row for row in document["timetable"] if row["evening"] == "2027-01-12"]
    kept = ("panel", "filter", "exposures", "from", "to", "looking")
    assert [{name: row[name] for name in kept} for row in found["tonight"]] == [
        {name: row[name] for name in kept} for row in tonight
    ]
    assert goal == "cheapest" or tonight
    assert found["evening_of_last"] == document["evening_of_last"]
    assert (found["cost_to_come"], found["currency"]) == (document["cost"], document["currency"])
    assert found["missing"] == document["missing"] == []
    assert found["evening"] == "2027-01-12" and not found["finished"]


@pytest.mark.parametrize(
    ("now", "evening"),
    [
        (local(SOUTH, 2027, 1, 9, 12, 1), dt.date(2027, 1, 9)),
        (local(SOUTH, 2027, 1, 10, 0, 1), dt.date(2027, 1, 10)),
        (
            dt.datetime(2027, 1, 9, 22, 30, tzinfo=dt.UTC),
            dt.date(2027, 1, 10),
        ),  # half past midnight at the site
        (dt.date(2027, 1, 11), dt.date(2027, 1, 11)),
        (EARLY, NIGHTS.first),
    ],
)
def test_the_coming_evening_by_the_clock_and_not_before_the_first(now, evening):
    assert coming_evening(plan_at().request, None, now) == evening
    assert coming_evening(plan_at().request, dt.date(2027, 1, 10), now) == max(evening, dt.date(2027, 1, 11))


def test_the_coming_evening_comes_after_the_last_frame(tmp_path):
    """A frame taken at 3 in the morning of the 13th, site time, belongs to the evening of the 12th."""
    plan = plan_at()
    write_solved(tmp_path / "a.fits", plan.mosaic.panels[0], DATE__OBS="2027-01-13T01:00:00")
    assert standing_of(plan, tmp_path, EARLY).evening == dt.date(2027, 1, 13)
    noon = local(SOUTH, 2027, 1, 13, 12).timestamp()
    assert [evening_of(noon + step, local(SOUTH, 2027, 1, 1).tzinfo).day for step in (-1, 0)] == [12, 13]


def test_clear_share_is_what_was_exposed_of_what_a_clear_sky_would_have_given(tmp_path):
    """By hand: seconds of frames over seconds of the timetable's exposures / 0.7, on evenings with frames."""
    plan = plan_at()
    nights = whole_season(plan)
    taken = shoot(tmp_path, plan, evenings=1, keep=lambda number: number % 2)
    evening = taken[0][0]
    offered = sum(
        block.exposures * FILTERS[block.chosen].exposure_s / 0.7
        for block in nights.timetable.blocks
        if evening_text(nights, block) == evening
    )
    met = standing_of(plan, tmp_path).so_far.clear_fraction_met
    assert met == pytest.approx(sum(row[3] for row in taken) / offered) and 0.2 < met < 0.5


def test_clear_share_is_held_against_what_kept_panels_have_already_too(tmp_path):
    plan = plan_at()
    first, *others = plan.mosaic.panels
    kept = replace(first, kept=True)
    listed = PanelRequest(
        kept.name, kept.ra_deg, kept.dec_deg, kept.position_angle_deg, keep=True, taken={"Ha": 4, "L": 1}
    )
    free = replace(plan.request.mosaic, columns=None, rows=None)
    grown = replace(
        plan,
        request=replace(plan.request, panels=(listed,), mosaic=free),
        mosaic=replace(plan.mosaic, panels=(kept, *others)),
    )
    shoot(tmp_path, plan, evenings=1, keep=lambda number: number < 2)
    shots, asked = reviewed(plan, tmp_path).shots, []
    home = "planner.answers.progress.remaining"
    with (
        patch(f"{home}.plan_nights", lambda plan, **_: asked.append(plan) or whole_season(plan_at())),
        patch(f"{home}.season_ahead", lambda *_, **__: None),
    ):
        for one in (plan, grown):
            remaining_nights(one, {}, shots, now=EARLY)
    assert exposures_wanted(grown) != exposures_wanted(plan)
    assert exposures_wanted(asked[1]) == exposures_wanted(asked[0]) == exposures_wanted(plan)


def test_clear_share_is_never_above_1_and_absent_without_frames(tmp_path):
    plan = plan_at()
    assert "clear_fraction_met" not in progress_document(standing_of(plan, tmp_path))
    shoot(tmp_path, plan, evenings=1, EXPTIME=1200.0)
    assert standing_of(plan, tmp_path).so_far.clear_fraction_met == 1.0


def test_a_season_as_planned_meets_the_share_that_the_plan_expects(tmp_path):
    plan = plan_at()
    shoot(tmp_path, plan)
    assert standing_of(plan, tmp_path).so_far.clear_fraction_met == pytest.approx(0.7)


def test_frames_without_stars_are_no_clear_sky_but_cost_as_much(tmp_path):
    plan = plan_at()
    (one,) = shoot(tmp_path, plan, evenings=1, keep=lambda number: number == 0)
    first = standing_of(plan, tmp_path).so_far
    panel = plan.mosaic.panels[0]
    path = write_solved(tmp_path / "b.fits", panel, EXPTIME=one[3], DATE__OBS=f"{one[0]}T23:00:00")
    with_stars = standing_of(plan, tmp_path).so_far
    path.write_bytes(path.read_bytes().replace(b"CTYPE", b"XTYPE"))
    clouded = standing_of(plan, tmp_path).so_far
    assert with_stars.clear_fraction_met == pytest.approx(2 * first.clear_fraction_met)
    assert clouded.clear_fraction_met == first.clear_fraction_met
    assert clouded.hours > first.hours + one[3] / 3600


def test_cost_by_hand(tmp_path):
    """Two evenings at different prices: each exposure with 8 s, each run of a panel and filter with 6 minutes.

    On 2027-01-08 the Moon is new (880 an hour), on 2027-01-16 more than half lit (540). Bad frames cost as much.
    """
    plan = plan_at()
    a1, a2 = plan.mosaic.panels[:2]
    shots = [
        (a1, "Ha", 600.0, "2027-01-08T20:00:00", 0.0),
        (a1, "Ha", 600.0, "2027-01-08T20:12:00", 0.0),
        (a2, "Ha", 600.0, "2027-01-08T20:30:00", 30.0),  # turned: not good
        (a2, "L", 300.0, "2027-01-08T21:00:00", 0.0),
        (a1, "Ha", 600.0, "2027-01-16T20:00:00", 0.0),
    ]
    for number, (panel, name, seconds, date, turn) in enumerate(shots):
        write_solved(
            tmp_path / f"{number}.fits", panel, turn_deg=turn, FILTER=name, EXPTIME=seconds, DATE__OBS=date
        )
    (tmp_path / "broken.fits").write_text("x")
    first = (3 * 608 + 308) / 3600 + 3 * 0.1
    second = 608 / 3600 + 0.1
    standing = standing_of(plan, tmp_path)
    assert standing.so_far.hours == pytest.approx(first + second)
    assert standing.so_far.cost == {"ZAR": pytest.approx(880 * first + 540 * second)}
    assert standing.review.verdicts["turned"] == 1
    lit = {one.evening.date.day: one.evening.moon_illumination for one in whole_season(plan).survey.evenings}
    assert [price_at(SOUTH, lit[day]) for day in (8, 16)] == [880.0, 540.0]


def test_so_far_waiting_and_to_come_are_the_whole(tmp_path):
    """A season as planned, its first evening shot: the sums of a hand-made table of its blocks.

    A block takes 6 minutes, and each of its exposures its length and 8 s, stretched by 1 / 0.7; at 880 an hour.
    """
    site = replace(SOUTH, hour_price=((0.0, 880.0),))
    plan = plan_at(site=SOUTH, sites=(site,))
    nights = whole_season(plan)
    lengths_s = {one.name: one.exposure_s for one in FILTERS}
    shoot(tmp_path, plan, evenings=1, stretch=1 / 0.7)
    standing = standing_of(plan, tmp_path)
    table = [
        (evening_text(nights, one), one.exposures, lengths_s[nights.survey.filters[one.chosen].name])
        for one in nights.timetable.blocks
    ]
    first = min(row[0] for row in table)
    exposed = sum(n * (length + 8) / 3600 + 0.1 for evening, n, length in table if evening == first)
    blocks = sum(n * (length + 8) / 3600 / 0.7 + 0.1 for evening, n, length in table if evening == first)
    whole = sum(n * (length + 8) / 3600 / 0.7 + 0.1 for _, n, length in table)
    so_far, to_come = standing.so_far, standing.timetable
    assert 0 < blocks < whole
    assert so_far.hours == pytest.approx(exposed)
    assert so_far.hours + so_far.waiting_hours == pytest.approx(blocks, abs=SECONDS_H)
    assert nights.timetable.hours_used == pytest.approx(whole, abs=SECONDS_H)
    assert so_far.hours + so_far.waiting_hours + to_come.hours_used == pytest.approx(whole, abs=SECONDS_H)
    cost = so_far.cost["ZAR"] + so_far.waiting_cost["ZAR"] + to_come.cost["ZAR"]
    assert cost == pytest.approx(880 * whole, abs=880 * SECONDS_H)
    assert nights.timetable.cost["ZAR"] == pytest.approx(880 * whole, abs=880 * SECONDS_H)
    assert so_far.clear_fraction_met == pytest.approx(0.7)


def test_nights_of_what_a_review_tells_are_those_of_progress(tmp_path):
    """review.json is enough to begin on the same evening, with the same clear share: the same timetable."""
    plan = plan_at()
    shoot(tmp_path / "frames", plan, evenings=1, keep=lambda number: number % 4)
    frames = FrameSpool(tmp_path / "frames")
    with frames:
        review = review_folder(plan.request, plan.mosaic, tmp_path / "frames", on_frame=frames.add)
        (tmp_path / "review.json").write_text("".join(review_pieces(review, frames)))
    for now in (EARLY, dt.date(2027, 1, 14)):
        standing = progress_of(plan, review, now=now)
        told = read_shot(tmp_path / "review.json", plan)
        rest = remaining_nights(plan, told.done, told.shots, now=now)
        assert rest.evening == standing.evening == max(now, dt.date(2027, 1, 9))
        assert rest.so_far == standing.so_far
        assert nights_document(rest.nights(plan)) == nights_document(standing.ahead)
    over = remaining_nights(plan, told.done, told.shots, now=dt.date(2027, 2, 1))
    with pytest.raises(InputError, match="it ended on 2027-01-20 and the coming evening is 2027-02-01"):
        over.nights(plan)


def test_waiting_is_what_passed_but_no_more_than_the_timetable_reckons_with(tmp_path):
    """Three exposures of a run, 100 s and an hour apart; 608 s each may be stretched to 868.6 s."""
    plan = plan_at()
    for number, date in enumerate(("20:00:00", "20:11:48", "21:21:56")):
        path = tmp_path / f"{number}.fits"
        write_solved(path, plan.mosaic.panels[0], EXPTIME=600.0, DATE__OBS=f"2027-01-08T{date}")
    share = (100.0 + 608 * (1 / 0.7 - 1)) / (2 * 608)
    assert standing_of(plan, tmp_path).so_far.waiting_hours == pytest.approx(share * 3 * 608 / 3600)


def test_evenings_outside_the_season_cost_what_their_moon_says(tmp_path):
    """2026-12-24 was full Moon (the phases of the Moon of 2026: 24 December, 1h UTC; from memory)."""
    plan = plan_at()
    write_solved(tmp_path / "a.fits", plan.mosaic.panels[0], DATE__OBS="2026-12-23T22:00:00")
    done = standing_of(plan, tmp_path).so_far
    assert done.cost["ZAR"] == pytest.approx(540 * (608 / 3600 + 0.1))
    assert done.clear_fraction_met is None


def test_of_two_sites_a_frame_belongs_to_the_one_that_is_dark(tmp_path):
    """Noon in the Karoo is midnight half a turn away."""
    far = replace(
        NORTH, name="Far pier", latitude_deg=-31.2, longitude_deg=-157.0, time_zone="Pacific/Honolulu"
    )
    plan = plan_at(sites=(SOUTH, far))
    for number, date in enumerate(("2027-01-08T22:00:00", "2027-01-09T10:00:00")):
        write_solved(tmp_path / f"{number}.fits", plan.mosaic.panels[0], DATE__OBS=date)
    done = standing_of(plan, tmp_path).so_far
    each = 608 / 3600 + 0.1
    assert done.cost == {"ZAR": pytest.approx(880 * each), "EUR": pytest.approx(50 * each)}
    document = progress_document(standing_of(plan, tmp_path))
    assert set(document["costs_so_far"]) == set(document["costs_to_come"]) == {"ZAR", "EUR"}
    assert {row["site"] for row in document["tonight"]} <= {"Karoo pier", "Far pier"}


@BOTH
def test_all_of_the_timetable_is_all_there_is_to_do(tmp_path, site):
    plan = plan_at(site)
    shoot(tmp_path, plan)
    standing = standing_of(plan, tmp_path)
    document = progress_document(standing)
    assert document["finished"] and document["tonight"] == [] and document["cost_to_come"] == 0
    assert {row["share"] for row in document["filters"]} == {1.0}
    assert document["evening_of_last"] == whole_season(plan).timetable.last.isoformat()
    assert shortfall(standing) is None and no_work_words(standing) is None
    assert 0 < document["cost_so_far"] < sum(whole_season(plan).timetable.cost.values())


def test_a_gap_between_good_frames_is_wanted_and_planned(tmp_path):
    """As the review has it: every exposure is there, but A1's frames stand apart and leave a gap."""
    small = small_plan(overlap=0.02, filters=())
    plan = replace(plan_at(), mosaic=small.mosaic)
    for one in plan.mosaic.panels:
        for chosen in FILTERS:
            shift = 12.0 if (one.name, chosen.name) == ("A1", "Ha") else 0.0
            for number in range(4):
                path = tmp_path / f"{one.name}{chosen.name}{number}.fits"
                write_solved(path, one, east_arcmin=shift, FILTER=chosen.name, EXPTIME=chosen.exposure_s)
    review = review_folder(plan.request, plan.mosaic, tmp_path, limits=Limits(20.0, 2.0))
    standing = progress_of(plan, review, now=EARLY)
    assert standing.shares == {"Ha": 1.0, "L": 1.0} and not standing.finished
    assert {(one.panel, one.filter) for one in standing.tonight} == {("A1", "Ha")}
    assert sum(one.exposures for one in standing.tonight) == 4
    assert "leave a gap" in next(row.why for row in standing.rows if row.missing)


def test_reasons_name_what_is_rare_and_what_it_completes(tmp_path):
    plan = plan_at(NORTH)
    standing = standing_of(plan, tmp_path)
    left = {(row.name, row.filter): row.nights_left for row in standing.rows}
    fewest = min(left.values())
    assert fewest < max(left.values())
    for one in standing.tonight:
        rare = left[one.panel, one.filter] == fewest
        assert ("fewest nights left of all that is wanted" in one.reason) is rare
        assert f"completes {one.panel} in {one.filter}" in one.reason
        assert "degrees high" in one.reason and "the Moon" in one.reason
    last = standing_of(plan, tmp_path, now=NIGHTS.last)
    assert last.tonight and all("the last night of the season" in one.reason for one in last.tonight)


def test_a_season_that_is_over_says_so(tmp_path):
    plan = plan_at()
    shoot(tmp_path, plan, evenings=1)
    standing = standing_of(plan, tmp_path, now=dt.date(2027, 2, 1))
    document = progress_document(standing)
    assert standing.season_over and document["tonight"] == []
    assert "cost_to_come" not in document and "evening_of_last" not in document
    assert {row["nights_left"] for row in document["panels"]} == {0}
    assert "not in this season, which ended on 2027-01-20" in dict(facts(standing))["Finished"]


def test_a_season_too_short_names_what_finds_no_place(tmp_path):
    plan = plan_at(nights=replace(NIGHTS, last=NIGHTS.first))
    standing = standing_of(plan, tmp_path)
    document = progress_document(standing)
    assert "evening_of_last" not in document
    missing = sum(row["exposures"] for row in document["missing"])
    assert missing + sum(row["exposures"] for row in document["tonight"]) == 48
    assert f"{missing} exposures find no place" in dict(facts(standing))["Finished"]


def test_a_plan_without_nights_tells_what_is_done(tmp_path):
    plan = plan_at(nights=None)
    shoot(tmp_path, plan, nights=whole_season(plan_at()), evenings=1)
    document = progress_document(standing_of(plan, tmp_path))
    assert set(document) == {"schema", "panels", "filters", "finished"}
    assert "nights_left" not in document["panels"][0]
    assert "needs [site] and [nights]" in dict(facts(standing_of(plan, tmp_path)))["Season"]
    shoot(tmp_path / "all", plan, nights=whole_season(plan_at()))
    assert "Season" not in dict(facts(standing_of(plan, tmp_path / "all")))
    document = progress_document(standing_of(plan, tmp_path / "all"))
    assert document["finished"] and document["tonight"] == [] and document["cost_to_come"] == 0


def test_a_plan_without_filters_wants_a_good_frame_of_each_panel(tmp_path):
    plan = plan_at(filters=())
    assert len(standing_of(plan, tmp_path).tonight) == 6
    for one in plan.mosaic.panels[:4]:
        write_solved(tmp_path / f"{one.name}.fits", one)
    standing = standing_of(plan, tmp_path)
    document = progress_document(standing)
    assert document["filters"] == [] and not document["finished"]
    assert {row["panel"] for row in document["tonight"]} == {"B2", "B3"} or len(document["tonight"]) == 2
    assert all("filter" not in row and row["from"] < row["to"] for row in document["tonight"])
    assert "needs [[filters]]" in dict(facts(standing))["Finished"]
    assert "4 of 6 panels" in dict(facts(standing))["Done"]
    for one in plan.mosaic.panels[4:]:
        write_solved(tmp_path / f"{one.name}.fits", one)
    assert standing_of(plan, tmp_path).finished


def test_frames_of_elsewhere_and_without_date_are_told(tmp_path):
    plan = plan_at()
    panel = plan.mosaic.panels[0]
    write_solved(tmp_path / "a.fits", panel, north_arcmin=3000.0)
    write_solved(tmp_path / "b.fits", panel, DATE__OBS="soon")
    write_solved(tmp_path / "c.fits", panel, DATE__OBS="1066-10-14T09:00:00")
    write_solved(tmp_path / "d.fits", panel, DATE__OBS="2027-01-09T22:00:00")
    write_solved(tmp_path / "e.fits", panel, scale=1.8, DATE__OBS="2027-01-19T22:00:00")
    standing = standing_of(plan, tmp_path)
    assert standing.review.shots.undated == 2 and len(standing.review.shots) == 1
    assert standing.so_far.hours == pytest.approx(608 / 3600 + 0.1)
    assert "2 tell no date" in dict(facts(standing))["Frames"]
    assert standing.so_far.last == dt.date(2027, 1, 9) and standing.evening == dt.date(2027, 1, 10)
    assert "2 of 5 are none of this plan's" in dict(facts(standing))["Elsewhere"]


def test_panels_that_a_plan_file_lists_may_want_numbers_of_their_own(tmp_path):
    base = plan_at()
    listed = tuple(
        PanelRequest(one.name, one.ra_deg, one.dec_deg, one.position_angle_deg, one.order, exposures)
        for one, exposures in zip(base.mosaic.panels, [{"Ha": 1, "L": 0}] * 6, strict=True)
    )
    mosaic = replace(base.request.mosaic, columns=None, rows=None)
    plan = replace(base, request=replace(base.request, panels=listed, mosaic=mosaic))
    for one in plan.mosaic.panels:
        write_solved(tmp_path / f"{one.name}.fits", one)
    standing = standing_of(plan, tmp_path)
    assert standing.finished and standing.shares == {"Ha": 1.0, "L": 1.0}


def test_too_many_nights_are_refused_as_nights_does():
    many = tuple(Filter(f"F{number}", "narrow", 60.0, 1) for number in range(80))
    plan = plan_at(filters=many, nights=replace(NIGHTS, last=dt.date(2029, 12, 31)))
    with pytest.raises(InputError, match="at most 400000"):
        check_progress(plan)
    check_progress(plan_at(nights=None))


def test_shots_stand_by_time(tmp_path):
    plan = plan_at()
    for number, hour in enumerate((23, 20, 21)):
        write_solved(
            tmp_path / f"{number}.fits", plan.mosaic.panels[number], DATE__OBS=f"2027-01-08T{hour}:00:00.5"
        )
    shots = reviewed(plan, tmp_path).shots
    assert shots.panel.tolist() == [1, 2, 0] and np.all(np.diff(shots.start_s) > 0)
    first = dt.datetime(2027, 1, 8, 20, tzinfo=dt.UTC).timestamp() + 0.5
    assert shots.start_s[0] == pytest.approx(first, abs=1e-3)


def test_the_door_for_scripts_answers_the_same(tmp_path):
    plan = plan_at()
    shoot(tmp_path, plan, evenings=1)
    review = planner.review_frames(plan, tmp_path)
    standing = planner.progress_of(plan, review, now=EARLY)
    table = planner.progress_table(standing)
    assert table["seconds"].sum().to_value("s") == sum(row.seconds for row in standing.rows)
    assert list(table["nights_left"]) == [row.nights_left for row in standing.rows]
    assert planner.progress_of(plan, review).evening >= standing.evening

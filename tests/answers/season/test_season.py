import datetime as dt
import itertools
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.answers.find_region import find_region
from planner.answers.plan import make_plan, terms_of
from planner.answers.season import plan_season, season_angles
from planner.answers.season.best_angles import best_angles
from planner.answers.season.order import evenings_of, order_of_work, together
from planner.answers.season.search import search_season
from planner.answers.season.season_plan import _between_divisions as between_divisions
from planner.answers.season.table import SeasonTable, at_angle, row_table
from planner.answers.settle import settled_tables
from planner.errors import InputError
from planner.files.documents.season import season_document
from planner.files.plan_file.read import request_from_document
from planner.mosaic.layout.flat_rows import count_rows
from planner.request.request import SeasonRequest
from planner.rig.angle_device import AngleDevice
from planner.rig.settable_angles import device_angles, free_angles

CAMERA = {"focal_length_mm": 418.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
ADJUSTER = {"kind": "adjuster", "zero_deg": 112.4, "division_deg": 30.0}
STRIPS = {"rising": 30.0, "falling": 100.0, "level": 155.0}
SITE = {
    "name": "Pier",
    "latitude_deg": -32.0,
    "longitude_deg": 20.0,
    "time_zone": "UTC",
    "lowest_altitude_deg": 30,
}


def strip(angle_deg, title, *, center=(130.0, -20.0), size=(1.9, 6.5), mosaic=None, **tables):
    """A long rectangle whose height stands at a position angle."""
    region = {
        "center": list(center),
        "width_deg": size[0],
        "height_deg": size[1],
        "position_angle_deg": angle_deg,
    }
    document = {
        "title": title,
        "camera": CAMERA,
        "region": region,
        "mosaic": {"layout": "sliding", **(mosaic or {})},
        "angle_device": ADJUSTER,
        **tables,
    }
    return request_from_document({key: table for key, table in document.items() if table is not None})


def strips(**changes):
    return [strip(angle, name, **changes) for name, angle in STRIPS.items()]


def season_of(requests, turns=0):
    return SeasonRequest("Season", tuple(requests), turns)


def exhaustive(cost, most):
    """Least total over every choice of columns."""
    sets = itertools.combinations(range(cost.shape[1]), min(most, cost.shape[1]))
    return min(cost[:, list(chosen)].min(axis=1).sum() for chosen in sets)


costs = st.integers(1, 6).flatmap(
    lambda rows: st.integers(1, 7).flatmap(
        lambda columns: st.lists(
            st.lists(st.sampled_from([*range(4, 12), math.inf]), min_size=columns, max_size=columns),
            min_size=rows,
            max_size=rows,
        )
    )
)


@given(costs, st.integers(1, 7))
@settings(max_examples=150)
def test_choice_is_the_best_of_all(rows, most):
    cost = np.array(rows, dtype=float)
    columns = best_angles(cost, most)
    least = exhaustive(cost, most)
    if columns is None:
        assert not np.isfinite(least)
        return
    assert len(set(columns.tolist())) <= most
    assert cost[np.arange(len(cost)), columns].sum() == least


def test_greedy_choice_would_be_worse():
    # column 2 is the best single one; the best pair leaves it out
    cost = np.array([[4.0, 9.0, 6.0], [4.0, 9.0, 6.0], [9.0, 4.0, 6.0], [9.0, 4.0, 6.0]])
    assert best_angles(cost, 1).tolist() == [2, 2, 2, 2]
    assert best_angles(cost, 2).tolist() == [0, 0, 1, 1]


def test_settable_angles_are_divisions_within_the_travel():
    device = AngleDevice("adjuster", zero_deg=112.4, range_deg=(10.0, 130.0), division_deg=7.0, sense=-1)
    found = device_angles(device, period_deg=180.0)
    assert len(found) == len(range(14, 127, 7))  # 14, 21, ... 126
    for angle, readings in zip(found.angles_deg, found.readings_deg, strict=True):
        assert 0.0 <= angle < 180.0
        for reading in readings:
            assert 10.0 <= reading <= 130.0 and reading % 7.0 == 0.0
            assert math.remainder(device.position_angle_of(reading) - angle, 180.0) == pytest.approx(
                0, abs=1e-8
            )
    assert not found.is_whole_turn


def test_readings_half_a_turn_apart_are_one_angle():
    found = device_angles(AngleDevice("adjuster", zero_deg=112.4), period_deg=180.0)
    assert len(found) == 180 and found.is_whole_turn
    assert dict(zip(found.angles_deg, found.readings_deg, strict=True))[20.4] == (88.0, 268.0)
    square = device_angles(AngleDevice("adjuster", zero_deg=112.4), period_deg=90.0)
    assert len(square) == 90 and len(square.readings_deg[0]) == 4


def test_fixed_camera_has_one_angle_and_a_motor_not_too_many():
    fixed = device_angles(AngleDevice("fixed", zero_deg=200.0), period_deg=180.0)
    assert (fixed.angles_deg, fixed.readings_deg) == ((20.0,), ((0.0,),))
    motor = device_angles(AngleDevice("rotator", division_deg=0.01), period_deg=180.0)
    assert len(motor) <= 720 and motor.stride == 25 and motor.is_whole_turn


def test_travel_without_a_division_is_refused():
    with pytest.raises(InputError, match="division"):
        device_angles(AngleDevice("adjuster", range_deg=(1.0, 9.0), division_deg=10.0), period_deg=180.0)


@pytest.fixture(scope="module")
def planned():
    """Return `make_plan` that remembers what it has planned: the same strips serve many tests."""
    plans = {}

    def make(request, **options):
        key = repr((request.title, request.region, request.mosaic))
        if key not in plans:
            plans[key] = make_plan(request, **options)
        return plans[key]

    return make


@pytest.fixture
def quickly(planned, monkeypatch):
    monkeypatch.setattr("planner.answers.plan.make_plan", planned)


@pytest.fixture(scope="module")
def proven(planned):
    """Panels of every strip at every settable angle, each planned on its own."""
    requests = strips()
    angles = season_angles(season_of(requests)).angles_deg
    counts = [[len(planned(at_angle(one, a)).mosaic.panels) for a in angles] for one in requests]
    return np.array(counts, dtype=float), angles


@pytest.mark.parametrize("turns", [0, 1, 2])
def test_season_against_planning_everything(proven, quickly, turns):
    counts, angles = proven
    season = plan_season(season_of(strips(), turns), effort="quick")
    assert season.panels_total == exhaustive(counts, turns + 1)
    assert 3 < season.panels_total_bound <= season.panels_total
    assert season.panels_total_free == counts.min(axis=1).sum()
    assert len(season.angles) <= turns + 1
    assert sorted(target for angle in season.angles for target in angle.targets) == [0, 1, 2]
    device = AngleDevice(**ADJUSTER)
    for angle in season.angles:
        assert angle.position_angle_deg in angles
        assert angle.reading_deg % 30.0 == 0.0 and device.holds(angle.reading_deg)
        shown = device.position_angle_of(angle.reading_deg)
        assert math.remainder(shown - angle.position_angle_deg, 180.0) == pytest.approx(0.0, abs=1e-6)
        for target in angle.targets:
            mosaic = season.targets[target].plan.mosaic
            for panel in mosaic.panels:
                assert panel.position_angle_deg == pytest.approx(angle.position_angle_deg)
            assert len(mosaic.panels) == counts[target, angles.index(angle.position_angle_deg)]
            assert mosaic.covered and mosaic.overlap_found >= 0.15 - 1e-9


FREE = [(30.0, (130.0, -20.0)), (75.0, (10.0, 50.0)), (140.0, (359.0, -62.0))]


@pytest.fixture(scope="module")
def free_strips():
    """Targets whose panels may stand anywhere, with the panels of each at every angle that can be set."""
    requests = [strip(a, f"at {a}", center=c, size=(1.9, 3.4), mosaic={"layout": "free"}) for a, c in FREE]
    angles = season_angles(season_of(requests)).angles_deg
    counts = [
        [len(make_plan(at_angle(one, a), effort="quick").mosaic.panels) for a in angles] for one in requests
    ]
    return requests, np.array(counts, dtype=float)


@pytest.mark.parametrize(("turns", "effort"), [(0, "quick"), (1, "quick"), (0, "usual")])
def test_free_panels_against_planning_everything(free_strips, turns, effort):
    requests, counts = free_strips
    season = plan_season(season_of(requests, turns), effort=effort)
    assert season.panels_total <= exhaustive(counts, turns + 1)
    assert season.panels_total_free <= counts.min(axis=1).sum()
    assert season.panels_total_bound <= season.panels_total
    for target in season.targets:
        assert target.plan.shortfalls == () and target.plan.mosaic.overlap_found >= 0.15 - 1e-9


@pytest.mark.parametrize(("count", "turns"), [(1, 0), (2, 1), (3, 1)])
def test_ties_go_to_more_margin_against_planning_everything(proven, planned, quickly, count, turns):
    requests, (counts, angles) = strips()[:count], proven
    counts = counts[:count]
    overlaps = np.array(
        [[planned(at_angle(one, a)).mosaic.overlap_found for a in angles] for one in requests]
    )
    season = plan_season(season_of(requests, turns), effort="thorough")
    assert season.panels_total == exhaustive(counts, turns + 1)
    found = sum(target.plan.mosaic.overlap_found for target in season.targets)
    ties = [
        overlaps[range(count), pick].sum()
        for chosen in itertools.combinations(range(len(angles)), turns + 1)
        for pick in itertools.product(chosen, repeat=count)
        if counts[range(count), pick].sum() == season.panels_total
    ]
    assert len(set(ties)) > 1 and found == pytest.approx(max(ties), abs=1e-9)


def test_each_turn_gains_panels(proven):
    counts, _ = proven
    totals = [exhaustive(counts, most) for most in (1, 2, 3)]
    assert totals[0] > totals[1] > totals[2]  # every angle gains, else nothing has been tested


def test_turns_that_gain_nothing_are_not_taken(quickly):
    alike = [strip(angle, f"at {angle}") for angle in (30.0, 32.0)]
    season = plan_season(season_of(alike, 1), effort="quick")
    assert len(season.angles) == 1 and season.panels_total == season.panels_total_free


def test_the_bound_is_what_is_proven_for_each_choice():
    counts = np.array([[5, 6, 9], [6, 5, 5]])
    table = table_stub(counts, np.full((2, 3), 0.2))
    assert table.least_counts().tolist() == [[1.0] * 3] * 2
    table.bounds = {0: 4, 1: 3}
    table.plans[1, 0] = plan_stub(6, 0.2, bound=5)
    table.allowed = np.array([[True, True, False], [True] * 3])
    assert table.least_counts().tolist() == [[4.0, 4.0, np.inf], [5.0, 3.0, 3.0]]


def test_free_panels_are_never_more_than_rows():
    requests = [strip(angle, f"at {angle}", size=(1.9, 3.4)) for angle in (30.0, 75.0)]
    free = [replace(one, mosaic=replace(one.mosaic, layout="free")) for one in requests]
    rows, better, again = (plan_season(season_of(group), effort="quick") for group in (requests, free, free))
    assert better.panels_total <= rows.panels_total
    assert better.panels_total_free <= better.panels_total
    assert season_document(again) == season_document(better)
    for target in better.targets:
        assert target.plan.shortfalls == () and target.plan.mosaic.overlap_found >= 0.15 - 1e-9


def plan_stub(panels, overlap, shortfalls=(), *, angle_deg=0.0, bound=1):
    panel = SimpleNamespace(position_angle_deg=angle_deg)
    mosaic = SimpleNamespace(panels=[panel] * panels, overlap_found=overlap, panel_count_bound=bound)
    return SimpleNamespace(mosaic=mosaic, shortfalls=shortfalls)


def table_stub(counts, overlaps):
    requests = strips()[: len(counts)]
    angles = free_angles(period_deg=180.0)
    angles = replace(angles, angles_deg=angles.angles_deg[: counts.shape[1]])
    table = SeasonTable(tuple(requests), angles, counts, np.ones(counts.shape, dtype=bool))
    for place in np.ndindex(counts.shape):
        table.add(*place, plan_stub(int(counts[place]), overlaps[place]))
    return table


def test_equal_totals_go_to_the_larger_sum_of_overlaps():
    counts = np.array([[5, 4, 4], [6, 7, 7]])
    overlaps = np.array([[0.2, 0.16, 0.18], [0.2, 0.3, 0.25]])
    costs_known = table_stub(counts, overlaps).known_costs()
    # totals 11, 11, 11; overlaps 0.40, 0.46, 0.43
    assert best_angles(costs_known, 1).tolist() == [1, 1]
    assert best_angles(table_stub(counts, overlaps[:, [1, 0, 2]]).known_costs(), 1).tolist() == [0, 0]


def test_a_panel_less_weighs_more_than_any_margin():
    counts = np.array([[5, 4], [6, 6]])
    overlaps = np.array([[1.0, 0.15], [1.0, 0.15]])
    assert best_angles(table_stub(counts, overlaps).known_costs(), 1).tolist() == [1, 1]


def test_plans_that_fall_short_come_last():
    table = table_stub(np.array([[9, 2]]), np.array([[0.2, 0.2]]))
    table.plans[0, 1] = plan_stub(2, 0.0, ("a gap",))
    assert best_angles(table.known_costs(), 1).tolist() == [0]
    assert table.best_angle(0) == 0


def test_guesses_follow_plans():
    table = table_stub(np.array([[10, 12, 14]]), np.full((1, 3), 0.2))
    table.plans = {(0, 0): plan_stub(9, 0.2)}
    assert table.guessed_counts().tolist() == [[9.0, 11.0, 13.0]]
    table.plans[0, 2] = plan_stub(11, 0.2)
    assert table.guessed_counts().tolist() == [[8.0, 10.0, 12.0]]  # two fewer than rows, as plans have it
    assert table.guessed_counts(spare=1.0).tolist() == [[7.0, 9.0, 11.0]]
    table.bounds[0] = 9
    assert table.guessed_counts(spare=1.0).tolist() == [[9.0, 9.0, 11.0]]
    table.add_free(
        0, plan_stub(10, 0.2, angle_deg=1.4, bound=8)
    )  # by a search over all angles, near 1 degree
    # no gain on the fewest in rows: (1 + 3 + 0) / 3 rounds to 1; nowhere fewer than that search has found
    assert table.guessed_counts().tolist() == [[10.0, 10.0, 13.0]]


def test_what_a_search_over_all_angles_finds_counts_or_is_told():
    """At an angle that can be set its plan is among those compared; between divisions a note names it."""
    table = table_stub(np.array([[10, 12, 14]]), np.full((1, 3), 0.2))
    table.plans, table.requests = {(0, 0): plan_stub(9, 0.2)}, (strip(30.0, "rising"),)
    settable = table.angles.angles_deg[1]
    table.add_free(0, plan_stub(7, 0.2, angle_deg=settable + 0.4))
    assert (0, 1) not in table.plans
    assert list(between_divisions(table)) == [
        f"'rising' has 7 panels at {settable + 0.4:g}, an angle that is not among those looked at"
    ]
    table.add_free(0, plan_stub(7, 0.2, angle_deg=settable + 180.0))
    assert table.best_angle(0) == 1 and not list(between_divisions(table))


def test_a_pinned_plan_binds_the_season(quickly):
    requests = strips()
    pinned = [strip(30.0, "rising", mosaic={"position_angle_deg": 40.0}), *requests[1:]]
    season = plan_season(season_of(pinned), effort="quick")
    assert [angle.position_angle_deg for angle in season.angles] == [52.4]  # the division next to 40
    assert any("'rising' pins its angle to 40" in note for note in season.notes)


def test_a_file_that_keeps_its_panels_is_told_how_to_let_them_go(quickly):
    requests = strips()
    pinned = {"mosaic": {"position_angle_deg": 40.0}}
    kept = settled_tables(make_plan(strip(30.0, "rising", **pinned), effort="quick"))
    marks = {key: value for key, value in kept["settled"].items() if value is not None}
    settled = strip(30.0, "rising", **pinned, panels=kept["panels"], settled=marks)
    season = plan_season(season_of([settled, *requests[1:]]), effort="quick")
    note = next(note for note in season.notes if "'rising'" in note)
    assert "keeps panels at the angle 40" in note and "--unsettle" in note and "pins" not in note


def test_rows_that_promise_fewer_than_any_plan_are_told(quickly):
    season = plan_season(season_of(strips()), effort="quick")
    for target, rows in zip(season.targets, season.rows, strict=True):
        least = target.promised[0] if target.promised else target.panels_at_own_best_angle
        assert least <= target.panels_at_own_best_angle
        if target.promised:
            angle = season.settable.angles_deg.index(target.promised[1])
            assert rows[angle] == least == rows.min()


def test_a_range_binds_its_plan(quickly):
    ranged = [strip(30.0, "rising", mosaic={"position_angle_range_deg": [135.0, 145.0]}), *strips()[1:]]
    season = plan_season(season_of(ranged), effort="quick")
    assert [angle.position_angle_deg for angle in season.angles] == [142.4]


def test_pins_apart_need_turns(quickly):
    pins = [
        strip(30.0, name, mosaic={"position_angle_deg": angle}) for name, angle in (("a", 20.0), ("b", 80.0))
    ]
    with pytest.raises(InputError, match="turns_allowed = 0 is too few.*'a', 'b'"):
        plan_season(season_of(pins), effort="quick")
    assert len(plan_season(season_of(pins, 1), effort="quick").angles) == 2


def test_pin_out_of_travel_is_refused():
    short = {**ADJUSTER, "range_deg": [0.0, 30.0]}
    pinned = strip(30.0, "a", mosaic={"position_angle_deg": 60.0}, angle_device=short)
    with pytest.raises(InputError, match="'a' asks for the angle 60"):
        plan_season(season_of([pinned]), effort="quick")


def test_travel_limits_the_season(quickly):
    short = {**ADJUSTER, "range_deg": [0.0, 30.0]}
    season = plan_season(season_of(strips(angle_device=short)), effort="quick")
    assert {one.reading_deg for one in season.angles} <= {0.0, 30.0}
    assert season.panels_total_free <= season.panels_total


def test_without_a_device_there_are_whole_degrees_and_no_readings():
    season = plan_season(season_of([strip(30.0, "a", angle_device=None)]), effort="quick")
    angle = season.angles[0]
    assert angle.reading_deg is None and angle.position_angle_deg == round(angle.position_angle_deg)
    assert "reading_deg" not in season_document(season)["angles"][0]


def test_angle_error_is_kept_and_asked_for(quickly):
    plain = plan_season(season_of([strip(30.0, "a")]), effort="quick")
    assert any("half a division (15 degrees)" in note for note in plain.notes)
    careful = strip(30.0, "a", mosaic={"angle_error_deg": 15.0})
    season = plan_season(season_of([careful]), effort="quick")
    assert not any("half a division" in note for note in season.notes)
    assert season.targets[0].plan.mosaic.gap_after_errors_deg2 == 0.0
    assert season.panels_total >= plain.panels_total


def test_listed_panels_are_refused():
    listed = strip(
        30.0, "a", panels=[{"name": "A1", "ra_deg": 130.0, "dec_deg": -20.0, "position_angle_deg": 0.0}]
    )
    with pytest.raises(InputError, match="lists its panels"):
        plan_season(season_of([listed]), effort="quick")


def test_rows_at_many_angles_are_those_at_one():
    requests = strips()
    angles = np.array([0.0, 33.0, 91.5])
    found = row_table(requests, angles)
    for row, request in zip(found, requests, strict=True):
        from planner.mosaic.orientation import Orientation

        region, demands = find_region(request.region).region, terms_of(request).demands
        single = [count_rows(region, Orientation.common(0.0), demands, [angle])[0] for angle in angles]
        assert row.tolist() == single
    grid = strip(30.0, "grid", mosaic={"columns": 3, "rows": 2, "layout": "grid"})
    assert row_table([grid], angles).tolist() == [[6, 6, 6]]


@pytest.mark.parametrize("turns", [0, 1, 2, 5])
def test_choice_by_rows_against_all_choices(turns):
    request = season_of([*strips(), strip(55.0, "more"), strip(140.0, "last")], turns)
    counts = row_table(request.requests, season_angles(request).array_deg)
    columns = best_angles(counts.astype(float), turns + 1)
    assert counts[np.arange(len(counts)), columns].sum() == exhaustive(counts, turns + 1)


def test_targets_that_leave_the_sky_first_come_first():
    nights = {"first": dt.date(2027, 1, 10), "last": dt.date(2027, 5, 10)}
    here = {"site": SITE, "nights": nights, "size": (1.5, 1.0)}
    early = strip(0.0, "early", center=(60.0, -20.0), **here)  # 4 h: behind the Sun in May
    late = strip(0.0, "late", center=(240.0, -20.0), **here)  # 16 h: opposite the Sun in May
    season = plan_season(season_of([late, early]), effort="quick")
    assert season_document(season)["angles"][0]["plans"] == ["early", "late"]
    assert [one.title for one in season.targets] == ["late", "early"]
    ends = {one.title: one.last_evening for one in season.targets}
    # within a week of when 4 h sinks below 30 degrees at the end of evening twilight, by an almanac's rule of
    # thumb: sidereal time at 18:40 site time is 6 h in mid February and gains 2 h a month
    assert dt.date(2027, 2, 20) < ends["early"] < dt.date(2027, 4, 20)
    assert ends["late"] == nights["last"]


def test_evenings_by_looking_at_every_evening():
    from planner.answers.nights import plan_nights

    nights = {"first": dt.date(2027, 2, 1), "last": dt.date(2027, 4, 30)}
    request = strip(0.0, "early", center=(60.0, -20.0), size=(6.0, 1.0), site=SITE, nights=nights)
    plan = make_plan(at_angle(request, 0.0))
    seen: dict[int, list[dt.date]] = {}
    for one in plan_nights(plan).survey.evenings:
        for panel in set(one.sight.panel.tolist()):
            seen.setdefault(panel, []).append(one.evening.date)
    assert len(seen) == len(plan.mosaic.panels) > 1
    assert evenings_of(plan) == (max(map(min, seen.values())), min(map(max, seen.values())))


def test_the_first_evening_is_the_one_by_which_all_panels_rise():
    from planner.answers.nights import plan_nights

    nights = {"first": dt.date(2027, 5, 1), "last": dt.date(2027, 6, 30)}
    request = strip(0.0, "rising", center=(310.0, -20.0), size=(6.0, 1.0), site=SITE, nights=nights)
    plan = make_plan(at_angle(request, 0.0))
    first: dict[int, dt.date] = {}
    for one in plan_nights(plan).survey.evenings:
        for panel in one.sight.panel.tolist():
            first.setdefault(panel, one.evening.date)
    assert evenings_of(plan) == (max(first.values()), nights["last"])
    assert evenings_of(replace(plan, request=replace(request, nights=None))) is None


def day(number):
    return dt.date(2027, 1, 1) + dt.timedelta(days=number)


def test_order_without_nights_is_the_files():
    assert order_of_work([3, 1, 3], [None, None, None]) == [(3, [0, 2]), (1, [1])]
    assert order_of_work([3, 1], [None, (day(0), day(1))]) == [(1, [1]), (3, [0])]


def fewest_stays(columns, spans):
    """By going through the days with every choice of angles, up to three a day, that serve what is in season."""
    states = {(None, frozenset()): 0}
    for number in range(3 * (max(last for _, last in spans) + 1)):
        following = {}
        for (angle, served), stays in states.items():
            for other in set(columns):
                season = {t for t, (first, last) in enumerate(spans) if first <= number // 3 <= last}
                now = served | {t for t in season if columns[t] == other}
                key, count = (other, now), stays + (other != angle)
                following[key] = min(count, following.get(key, count))
        states = following
    return min(stays for (_, served), stays in states.items() if len(served) == len(columns))


spans = st.lists(
    st.tuples(st.integers(0, 2), st.integers(0, 6), st.integers(0, 3)), min_size=1, max_size=5
).map(lambda rows: [(column, (first, min(6, first + length))) for column, first, length in rows])


@given(spans)
@settings(max_examples=60)
def test_order_takes_the_fewest_turns_that_seasons_allow(rows):
    columns, when = [column for column, _ in rows], [span for _, span in rows]
    stays = order_of_work(columns, [(day(first), day(last)) for first, last in when])
    assert sorted(target for _, members in stays for target in members) == list(range(len(rows)))
    assert all(columns[target] == column for column, members in stays for target in members)
    assert all(one != other for (one, _), (other, _) in itertools.pairwise(stays))
    assert len(stays) == fewest_stays(columns, when)
    assert [column for column, _ in together(stays)] == list(dict.fromkeys(column for column, _ in stays))


def test_an_angle_that_must_be_set_again_is_told(quickly):
    site = {"site": SITE, "size": (1.9, 6.5)}
    summer, winter, spring = (
        {"first": dt.date(2027, month, 1), "last": dt.date(2027, month, 9)} for month in (1, 6, 9)
    )
    targets = [
        strip(30.0, "summer", center=(90.0, -20.0), nights=summer, **site),
        strip(100.0, "winter", center=(250.0, -20.0), nights=winter, **site),
        strip(31.0, "spring", center=(330.0, -20.0), nights=spring, **site),
    ]
    season = plan_season(season_of(targets, 1), effort="quick")
    assert [angle.targets for angle in season.angles] == [(0, 2), (1,)] and season.turns == 2
    assert any("are 2 turns, turns_allowed is 1" in note for note in season.notes)
    calm = plan_season(season_of(targets[:2], 1), effort="quick")
    assert calm.turns == 1 and not any("turns_allowed" in note for note in calm.notes)


def test_search_plans_no_more_than_the_choice_needs(quickly):
    request = season_of([strip(30.0, "a"), strip(31.0, "b")])
    table = SeasonTable.of(request.requests, season_angles(request))
    columns = search_season(table, 1, effort="quick")
    assert len(table.plans) < table.rows.size
    assert all((target, column) in table.plans for target, column in enumerate(columns.tolist()))

"""The search: known optima, never worse than rows or a grid, and every result served by brute force."""

import math
import os
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner import beside
from planner.errors import SearchStopped
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane
from planner.halves import two_processes
from planner.mosaic import Field, Layout, Region, Terms, build_mosaic, choose, find_gap, smallest_rectangle
from planner.mosaic.angle_range import AngleRange
from planner.mosaic.choose import search_task, sliding_start
from planner.mosaic.demand import overlap_demand
from planner.mosaic.layout.flat_rows import count_rows
from planner.mosaic.layout.lay_out import lay_out
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import panel_bases
from planner.mosaic.sample_points import region_points
from planner.mosaic.search import EFFORTS, Effort, hint_angles, row_counts, search_fewest
from planner.mosaic.search.attempt import Attempt
from planner.mosaic.search.first_panels import FRONTS, laid_from
from planner.mosaic.search.moves import Crew, Pierce
from planner.mosaic.search.served.curved import CurvedGround
from planner.mosaic.search.served.flat import FlatGround
from planner.mosaic.search.served.ground_for import ground_for
from planner.mosaic.task import Task
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle
from tests.mosaic.bound.relaxed import relax

TERMS = Terms(Field(3.3, 2.2))
BRIEF = Effort(
    steps=500, relaxations=20, programs=0, tries=(60, 120), angles=6, fronts=2, widenings=1, most_cores=60
)


def outline(points, center=(130.0, -30.0), angle_deg=0.0):
    """Region with corners at tangent plane offsets in degrees."""
    return Region.from_vectors(plane_to_vector(np.tan(np.radians(points)), sky_basis(*center, angle_deg)))


def blob(seed, radius_deg=4.0, count=9, center=(130.0, -30.0)):
    random = np.random.default_rng(seed)
    angle = np.sort(random.uniform(0, 2 * math.pi, count))
    reach = radius_deg * random.uniform(0.5, 1.1, count)
    return outline(reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1), center)


def brief(region, terms=TERMS, **layout):
    """A search of little effort, and the rows that it starts from."""
    layout = Layout("free", **layout)
    task = search_task(region, terms, layout)
    hints, start = sliding_start(region, terms, layout, task)
    return search_fewest(task, start, effort=BRIEF, hints_deg=hints), start, task


@pytest.mark.parametrize("seed", [7, 9])
def test_no_plan_has_more_panels_than_rows_alone_need(monkeypatch, seed):
    """A search that finds nothing begins with rows at few angles; here more angles in rows do better."""
    monkeypatch.setattr(choose, "search_fewest", lambda task, start, *, finish, **_: finish(start))
    region = blob(seed, 3.6)
    in_rows = build_mosaic(region, TERMS, Layout("sliding", effort="quick"))
    found = build_mosaic(region, TERMS, Layout("free", effort="quick"))
    assert len(found.panels) <= len(in_rows.panels)
    assert not find_gap(region, panel_bases(found.panels), TERMS.demands)


def test_a_second_process_changes_nothing(monkeypatch):
    """Bounds that are worked out beside the moves give the same places, the same bound and as many moves."""
    lines, region = [], blob(3, 3.6)
    monkeypatch.setattr(beside, "_Line", lambda make, line=beside._Line: lines.append(make) or line(make))
    alone, start, _ = brief(region)
    assert not lines
    with two_processes():
        found, _, _ = brief(region)
    if len(os.sched_getaffinity(0)) > 1:
        assert len(lines) == 1
    assert start.bound < alone.bound == found.bound and alone.steps == found.steps > 0
    assert np.array_equal(alone.centers, found.centers) and np.array_equal(alone.angles_deg, found.angles_deg)


@pytest.mark.parametrize(
    ("columns", "rows", "angle_deg"), [(1, 1, 0.0), (2, 2, 37.123), (3, 2, 71.9), (5, 3, 143.3)]
)
@pytest.mark.parametrize("part", [0.985, 0.9996])
def test_rectangles_made_of_panels_at_a_hidden_angle(columns, rows, angle_deg, part):
    """As many panels as the grid that the rectangle was made from, and proven to be the fewest."""
    field = Field(0.33, 0.22)  # so small that great circles leave no more than 1e-4 of a panel
    size = [part * s * (1 + (n - 1) * 0.85) for s, n in ((0.33, columns), (0.22, rows))]
    mosaic = build_mosaic(Region.rectangle((200.0, 0.0), *size, angle_deg), Terms(field), Layout("free"))
    assert len(mosaic.panels) == columns * rows == mosaic.panel_count_bound
    assert mosaic.overlap_found >= 0.15 and not mosaic.shortfalls


@pytest.mark.parametrize("count", [2, 4, 6])
@pytest.mark.parametrize("seed", range(2))
def test_what_some_panels_serve_takes_no_more_than_these(count, seed):
    """A region inside the union of a few panels' cores: so many panels are enough."""
    random = np.random.default_rng(10 * count + seed)
    angle = random.uniform(0, 180)
    orientation = Orientation.common(angle)
    basis = sky_basis(300.0, 20.0, 0.0)
    centers = [np.zeros(2)]
    while len(centers) < count:  # a chain of overlapping panels
        step = random.uniform(-0.04, 0.04, 2)
        centers.append(centers[-1] + step)
    bases = orientation.bases(plane_to_vector(np.array(centers), basis))
    core = overlap_demand(TERMS.field, 0.15).core_corners() * 0.97
    cores = shapely.polygons(vector_to_plane(plane_to_vector(core, bases[:, None]), basis))
    part = max(shapely.get_parts(shapely.union_all(cores)), key=lambda shape: shape.area)
    region = Region.from_vectors(plane_to_vector(np.asarray(part.exterior.coords)[:-1], basis))
    assert not find_gap(region, bases, TERMS.demands)
    mosaic = build_mosaic(region, TERMS, Layout("free"))
    assert mosaic.panel_count_bound <= len(mosaic.panels) <= count


@pytest.mark.parametrize("place", [(130.0, -30.0), (0.2, 61.0), (77.0, 84.0)])
@pytest.mark.parametrize("angles", [1, "per_panel"])
def test_results_pass_the_brute_force_check(place, angles):
    random = np.random.default_rng(3)
    region = blob(5, 2.8, center=place)
    mosaic = build_mosaic(region, TERMS, Layout("free", angles, effort="quick"))
    panels = [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in mosaic.panels]
    half = (TERMS.field.half_width, TERMS.field.half_height)
    points = oracle.spread_over(region.outline_deg, 300, random)
    box = 0.15 * (1 - 1e-6) * np.array(half)
    assert not len(oracle.unserved(points, panels, half, box, region.outline_deg))
    if angles == 1:
        assert len({p.position_angle_deg for p in mosaic.panels}) == 1


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10_000), st.floats(2.0, 4.5))
def test_never_more_than_the_best_grid_and_never_below_the_bound(seed, radius_deg):
    region = blob(seed, radius_deg)
    found, start, task = brief(region)
    grids = [
        len(lay_out(region, TERMS, Layout("grid"), Orientation.common(angle)))
        for angle in (0.0, 45.0, 90.0, 135.0)
    ]
    assert found.bound <= len(found) <= min(len(start), *grids)
    orientation = task.orientation_at(float(found.angles_deg[0]))
    assert not find_gap(region, orientation.bases(found.centers), TERMS.demands)


def test_shapes_that_no_grid_suits_take_fewer_panels_than_rows():
    shape_c = [(0, 0), (9, 0), (9, 3), (3.2, 3), (3.2, 6.5), (8.5, 6.8), (9, 10), (0, 10)]
    region = outline(np.array(shape_c) - [4.5, 5.0], angle_deg=25.0)
    mosaic = build_mosaic(region, TERMS, Layout("free"))
    rows = min(count_rows(region, Orientation.common(0.0), TERMS.demands, np.arange(180.0)))
    assert len(mosaic.panels) < rows
    assert mosaic.panel_count_bound >= 0.75 * len(mosaic.panels)


def test_the_same_request_gives_the_same_plan():
    first, _, _ = brief(blob(4))
    second, _, _ = brief(blob(4))
    assert np.array_equal(first.centers, second.centers)
    assert (first.bound, first.steps) == (second.bound, second.steps)


def test_a_range_of_angles_is_kept_even_where_it_wraps():
    region = outline([(-5, -1), (5, -1), (5, 1), (-5, 1)], angle_deg=40.0)
    free, _, _ = brief(region)
    kept, _, task = brief(region, angle_range_deg=(160.0, 10.0))
    assert all(task.angles.holds(angle) for angle in kept.angles_deg)
    assert len(kept) > len(free) and 25.0 < free.angles_deg[0] % 180.0 < 140.0
    assert kept.bound >= free.bound


def test_a_pinned_angle_stays():
    found, _, _ = brief(blob(2), angle_deg=20.0)
    assert set(found.angles_deg) == {20.0}
    mosaic = build_mosaic(blob(2, 2.5), TERMS, Layout("free", angle_deg=200.0, effort="quick"))
    assert {p.position_angle_deg for p in mosaic.panels} == {200.0}


def test_a_square_sensor_needs_half_the_angles():
    layout = Layout("free")
    square = search_task(blob(1), Terms(Field(2.5, 2.5)), layout)
    assert square.angles.span_deg == square.angles.period_deg == 90.0


def test_errors_of_the_mount_are_met_too():
    terms = Terms(Field(3.3, 2.2), shift_arcmin=6.0, turn_deg=2.0, least_overlap_arcmin=2.0)
    found, _, task = brief(blob(7, 2.5), terms)
    orientation = task.orientation_at(float(found.angles_deg[0]))
    assert len(task.demands) == 2
    assert not find_gap(task.region, orientation.bases(found.centers), task.demands)


def test_plans_of_equal_count_get_the_larger_overlap():
    region = outline([(-3.2, -2.4), (3.2, -2.4), (3.2, 2.4), (-3.2, 2.4)])
    quick = build_mosaic(region, TERMS, Layout("free", angle_deg=0.0, effort="quick"))
    usual = build_mosaic(region, TERMS, Layout("free", angle_deg=0.0))
    assert len(usual.panels) <= len(quick.panels)
    assert usual.overlap_found >= 0.15
    if len(usual.panels) == len(quick.panels):
        assert usual.overlap_found >= quick.overlap_found - 1e-9


def test_two_angles_inside_one_mosaic_are_each_set_once():
    """An L of two bars at right angles, each as wide as a panel is high: two angles suit it better than one."""
    bars = [(0, 0), (8.5, 0), (8.5, 2.1), (2.1, 2.1), (2.1, 8.5), (0, 8.5)]
    region = outline(np.array(bars) - 4.0, center=(50.0, 5.0))
    one = build_mosaic(region, TERMS, Layout("free", 1, effort="quick"))
    two = build_mosaic(region, TERMS, Layout("free", 2))
    assert len(two.panels) < len(one.panels)
    assert two.panel_count_bound <= len(two.panels)
    by_order = [p.position_angle_deg for p in sorted(two.panels, key=lambda p: p.order)]
    assert len(set(by_order)) == 2
    assert sum(a != b for a, b in zip(by_order, by_order[1:], strict=False)) == 1
    assert not find_gap(region, panel_bases(two.panels), TERMS.demands)


@pytest.mark.parametrize("effort", EFFORTS)
def test_efforts_have_names(effort):
    assert EFFORTS[effort].steps > 0


@pytest.mark.parametrize(("effort", "first"), [("quick", 15), ("usual", 60), ("thorough", 50)])
def test_the_bound_gets_more_from_round_to_round_until_all_is_spent(effort, first):
    chosen = EFFORTS[effort]
    spent = [chosen.relaxations_until(stage) for stage in range(len(chosen.tries) + 1)]
    assert spent == sorted(spent) and spent[0] == first and spent[-1] == chosen.relaxations


@pytest.mark.parametrize("place", [(130.0, -30.0), (40.0, 66.0)])
def test_flat_and_curved_ground_agree_with_the_definition(place):
    """Which panels serve a point: both grounds against the box cut with the region, where it is no close call."""
    region, demand = blob(1, 3.0, center=place), TERMS.demands[0]
    orientation = Orientation.common(30.0)
    points = region_points(region, orientation, TERMS.demands)[::9]
    random = np.random.default_rng(8)
    grounds = [
        FlatGround(region, orientation, TERMS.demands),
        CurvedGround(region, orientation, TERMS.demands),
    ]
    centers = plane_to_vector(random.uniform(-0.05, 0.05, (12, 2)), region.basis)
    truth = np.array([[_serves(region, orientation, c, demand, p) for p in points] for c in centers])
    for ground, wrong in zip(grounds, (0.02, 0.004), strict=True):
        ground.add(points)
        served = ground.served(ground.places(centers))
        assert (served != truth).mean() <= wrong
        assert np.allclose(ground.vectors(ground.places(centers)), centers, atol=1e-12)


def _serves(region, orientation, center, demand, point):
    basis = orientation.bases(center)
    plane = shapely.Polygon(vector_to_plane(region.outline_vectors, basis))
    x, y = vector_to_plane(point, basis)
    a, b = demand.box
    needed = shapely.intersection(plane, shapely.box(x - a, y - b, x + a, y + b))
    return shapely.area(shapely.difference(needed, shapely.Polygon(demand.shape))) < 1e-12


def test_local_search_solves_small_covers_exactly():
    """Against all choices of places: the least number of panels that serve a few points."""
    from itertools import combinations

    region, orientation = blob(3, 2.6), Orientation.common(15.0)
    points = region_points(region, orientation, TERMS.demands)[::23]
    ground = FlatGround(region, orientation, TERMS.demands)
    ground.add(points)
    u0, u1, v0, v1 = ground.extent
    places = np.array([(u, v) for u in u1 for v in v1])  # some best place has a right and a top end
    serves = np.unique(ground.served(places), axis=0)
    size = (
        next(
            n
            for n in range(1, 7)
            if any(serves[list(c)].any(axis=0).all() for c in combinations(range(len(serves)), n))
        )
        if len(serves) < 60
        else None
    )
    assert size is not None
    search = Pierce([ground])
    crew, left = search.run(
        Crew(np.tile(ground.places(region.basis[2:]), (size, 1)), np.zeros(size, int)), 500
    )
    assert left == 0 and len(crew) == size


@pytest.mark.parametrize("seed", range(3))
def test_a_few_panels_at_one_angle_are_as_few_as_the_integer_program_allows(seed):
    from scipy.optimize import Bounds, LinearConstraint, milp

    region = blob(40 + seed, 1.9)
    task = Task(region, TERMS.demands, Orientation.common, AngleRange(10.0, 0.0))
    sets = relax(task, 10.0, 0.0, 9).sets
    least = milp(
        np.ones(len(sets)),
        constraints=LinearConstraint(sets.T.astype(float), 1, np.inf),
        integrality=np.ones(len(sets)),
        bounds=Bounds(0, 1),
    )
    found, _, _ = brief(region, angle_deg=10.0)
    assert len(found) == round(least.fun)


@pytest.mark.parametrize("seed", range(4))
def test_row_counts_against_a_plain_march(seed):
    """Convex regions on the equator: rows laid one by one with shapely, the same phases."""
    hull = blob(seed, 0.4, 7, center=(20.0, 0.0)).polygon.convex_hull
    region = Region.from_vectors(
        plane_to_vector(np.asarray(hull.exterior.coords)[:-1], sky_basis(20.0, 0.0, 0.0))
    )
    terms = Terms(Field(0.33, 0.22))
    angles = np.array([0.0, 31.0, 77.5, 120.0])
    counts = count_rows(region, Orientation.common(0.0), terms.demands, angles)
    assert counts.tolist() == [_plain_rows(region, terms, angle) for angle in angles]


def _plain_rows(region, terms, angle_deg, phases=8):
    width, height = 2 * terms.field.half_width, 2 * terms.field.half_height
    turn, overlap = math.radians(angle_deg), 0.15
    x, y = vector_to_plane(region.outline_vectors, sky_basis(*region.center_deg, 0.0)).T
    ring = np.stack(
        [math.cos(turn) * x - math.sin(turn) * y, math.sin(turn) * x + math.cos(turn) * y], axis=-1
    )
    shape = shapely.Polygon(ring)
    _, low, _, high = shape.bounds
    best = 10**9
    for phase in range(phases):
        bottom, total, first = low - phase / phases * (1 - overlap) * height, 0, True
        while bottom + (0 if first else overlap * height) < high:
            floor = bottom if first else bottom + overlap * height
            band = shapely.intersection(shape, shapely.box(-9, floor, 9, bottom + height))
            strip = shapely.intersection(shape, shapely.box(-9, bottom, 9, bottom + height))
            if not band.is_empty and band.area > 0:
                start = max(band.bounds[0] - overlap * width, strip.bounds[0])
                end = min(band.bounds[2] + overlap * width, strip.bounds[2])
                total += max(1, math.ceil((end - start - overlap * width) / ((1 - overlap) * width) - 1e-9))
            bottom, first = bottom + (1 - overlap) * height, False
        best = min(best, total)
    return best


def test_hints_name_the_edges_of_a_rectangle():
    region = Region.rectangle((80.0, 10.0), 8.0, 3.0, 33.3)
    task = search_task(region, TERMS, Layout("free"))
    hints = hint_angles(task, *row_counts(task))
    assert min(abs((hint - 33.3 + 45) % 90 - 45) for hint in hints) < 0.05


def test_an_attempt_closes_gaps_that_its_points_do_not_show():
    region = blob(6, 2.0)
    task = search_task(region, TERMS, Layout("free"))
    attempt = Attempt(task, [25.0])
    crew = min((attempt.front_crew(front, 99) for front in range(FRONTS)), key=len)
    assert attempt.run(crew, 500)
    assert not find_gap(region, task.orientation_at(25.0).bases(attempt.centers), TERMS.demands)
    assert np.allclose(attempt.panel_angles_deg, 25.0)


@cache
def ground_with_points(field):
    """Ground of a field with the points of its region, only to be looked at, and the cores that it is worth."""
    region = Region.circle((field.ra_deg, field.dec_deg), min(2.5 * field.width_deg, 20.0))
    terms = Terms(Field(field.width_deg, field.height_deg), overlap=0.15)
    task = search_task(region, terms, Layout("free"))
    ground = ground_for(region, task.orientation_at(25.0), task.demands)
    ground.add(region_points(region, task.orientation_at(25.0), task.demands))
    return ground, task.cores


@pytest.mark.parametrize("front", range(FRONTS))
@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_panels_laid_from_a_front_serve_every_point(field, front):
    ground, cores = ground_with_points(field)
    places = laid_from(ground, front, 500)
    assert ground.served(places).any(axis=0).all()
    assert len(places) < 2.0 * cores + 6
    assert len(laid_from(ground, front, 2)) == min(2, len(places))


def test_rectangles_are_found_where_they_are():
    """The smallest rectangle about a region of known size, at its own angle."""
    region = Region.rectangle((80.0, 10.0), 8.0, 3.0, 33.3)
    around = smallest_rectangle(region, Orientation.common(33.3))
    assert (around.width_deg, around.height_deg) == pytest.approx((8.0, 3.0), abs=1e-6)


@cache
def whole_search(angles):
    return build_mosaic(blob(3, 2.6), TERMS, Layout("free", angles=angles))


@pytest.mark.parametrize("angles", [1, 2])
@pytest.mark.parametrize("words", [1, 2, 5, 12])
def test_a_search_that_is_stopped_gives_the_best_plan_so_far(words, angles):
    told = []

    def progress(what, share):
        told.append(what)
        if len(told) >= words:
            raise SearchStopped

    stopped = build_mosaic(blob(3, 2.6), TERMS, Layout("free", angles=angles), progress=progress)
    whole = whole_search(angles)
    assert len(told) >= words and not stopped.shortfalls
    assert len(whole.panels) <= len(stopped.panels)
    assert stopped.panel_count_bound <= len(whole.panels)

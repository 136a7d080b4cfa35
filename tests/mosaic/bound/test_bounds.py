"""Lower bounds: enclosures hold every serving place, relaxations never exceed a plan's count."""

import itertools
import math

import numpy as np
import pytest
import shapely

from planner.geometry import plane_to_vector, sky_basis, sky_to_vector, vector_to_plane
from planner.mosaic import Field, Orientation, Region, find_gap
from planner.mosaic.angle_range import AngleRange
from planner.mosaic.bound.angle_bounds import AngleBounds
from planner.mosaic.bound.enclosure import enclosures
from planner.mosaic.bound.interval_view import between_edges, lattices, view_of
from planner.mosaic.bound.largest_sets import largest_sets
from planner.mosaic.bound.relaxation import Packing, proven_count, relax_any, weigh
from planner.mosaic.chart import Chart
from planner.mosaic.demand import Demand, kept_shape, overlap_demand
from planner.mosaic.sample_points import lattice_points
from planner.mosaic.task import Task
from tests.bench.search_regions import eight_regions
from tests.mosaic.bound.relaxed import relax

FIELD = Field(3.3, 2.2)
PLACES = [(130.0, -45.0), (359.5, 0.0), (40.0, 62.0), (210.0, -76.0)]


def serves(region: Region, basis: np.ndarray, demand: Demand, point: np.ndarray) -> bool:
    """By the definition: the box around the point's image, cut with the region, lies whole in the panel."""
    plane = shapely.Polygon(vector_to_plane(region.outline_vectors, basis))
    x, y = vector_to_plane(point, basis)
    (a, b), shape = demand.box, shapely.Polygon(demand.shape)
    needed = shapely.intersection(plane, shapely.box(x - a, y - b, x + a, y + b))
    return bool(shapely.area(shapely.difference(needed, shape)) < 1e-13)


def outermost(region, orientation, demand, point, direction):
    """Centre of the last panel that serves a point as panels move off it in a direction of its plane."""
    own, low, high = orientation.bases(point), 0.0, 2.0 * max(demand.half_size)
    for _ in range(24):
        middle = (low + high) / 2
        center = plane_to_vector(middle * direction, own)
        good = serves(region, orientation.bases(center), demand, point)
        low, high = (middle, high) if good else (low, middle)
    return plane_to_vector(low * direction, own)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("half_deg", [0.0, 3.0])
@pytest.mark.parametrize("size_deg", [3.3, 9.0])
def test_enclosures_hold_every_place_from_which_a_point_is_served(place, half_deg, size_deg):
    random = np.random.default_rng(5)
    field = Field(size_deg, size_deg / 1.5)
    region = Region.circle(place, 1.3 * size_deg)
    demand = overlap_demand(field, 0.2)
    chart = Chart(Orientation.common(25.0), region.basis[2])
    points = lattice_points(region, chart, (field.half_width * 0.9, field.half_height * 0.9))
    extent, usable = enclosures(region, chart, demand, points, math.radians(half_deg))
    assert usable.sum() > 0.5 * len(points)
    nearest = np.inf
    for _ in range(40):
        k = int(random.choice(np.flatnonzero(usable)))
        off = random.choice([-half_deg, random.uniform(-half_deg, half_deg), half_deg])
        orientation = Orientation.common(25.0 + off)
        turn = random.uniform(0, 2 * math.pi)
        center = outermost(region, orientation, demand, points[k], np.array([math.cos(turn), math.sin(turn)]))
        u, v = chart.place(center)
        u0, u1, v0, v1 = extent[k]
        room = min(u - u0, u1 - u, v - v0, v1 - v)
        assert room >= 0
        nearest = min(nearest, room / field.half_height)
    assert nearest < 0.2 or abs(place[1]) > 60  # it is no waste either


def test_a_shrunk_rectangle_would_be_noticed():
    """The check above can fail: rectangles a tenth smaller miss serving places."""
    region = Region.circle((130.0, -45.0), 4.3)
    demand = overlap_demand(FIELD, 0.2)
    chart = Chart(Orientation.common(0.0), region.basis[2])
    points = lattice_points(region, chart, (0.03, 0.02))
    u0, u1, _, _ = enclosures(region, chart, demand, points, 0.0)[0].T
    random, missed = np.random.default_rng(1), 0
    for _ in range(400):
        k = int(random.integers(len(points)))
        center = plane_to_vector(
            random.uniform(-1, 1, 2) * demand.half_size, chart.orientation.bases(points[k])
        )
        if serves(region, chart.orientation.bases(center), demand, points[k]):
            u, v = chart.place(center)
            missed += bool(abs(u - (u0 + u1)[k] / 2) > 0.45 * (u1 - u0)[k])
    assert missed > 0


@pytest.mark.parametrize("seed", range(4))
def test_largest_sets_hold_every_set_that_has_a_place(seed):
    random = np.random.default_rng(seed)
    low = random.uniform(0, 10, (40, 2))
    high = low + random.uniform(1, 4, (40, 2))
    extent = np.stack([low[:, 0], high[:, 0], low[:, 1], high[:, 1]], axis=-1)
    middles, sets = largest_sets(extent, 1e-3)
    assert len(np.unique(sets, axis=0)) == len(sets)  # none is met twice
    around = (extent[:, ::2] - 1e-3 <= middles[:, None]) & (middles[:, None] <= extent[:, 1::2] + 1e-3)
    assert (around.all(axis=2) | ~sets).all()
    for place in random.uniform(0, 14, (2000, 2)):
        inside = np.all((low <= place) & (place <= high), axis=1)
        assert (sets | ~inside).all(axis=1).any()  # some set holds all of them


def test_weights_are_a_proof_by_themselves():
    sets = np.array([[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1], [1, 0, 0, 1], [0, 1, 0, 1]], dtype=bool)
    total, weights, parts = weigh(sets)
    assert total == pytest.approx(2.0)
    assert (sets @ weights).max() <= 1.0 and weights.min() >= 0.0
    assert parts.sum() == pytest.approx(total) and (parts @ sets).min() >= 1.0 - 1e-9


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (2, 2), (4, 2), (3, 3)])
@pytest.mark.parametrize("angle_deg", [0.0, 37.0])
def test_bound_meets_the_count_of_rectangles_made_for_it(columns, rows, angle_deg):
    """A rectangle a little smaller than a grid of panels covers: no plan at that angle can have fewer."""
    field, overlap = Field(0.33, 0.22), 0.15  # so small that the sphere is flat to 1e-5
    width = 0.33 * (1 + (columns - 1) * (1 - overlap)) * 0.985
    height = 0.22 * (1 + (rows - 1) * (1 - overlap)) * 0.985
    region = Region.rectangle((200.0, 0.0), width, height, angle_deg)
    task = Task(region, (overlap_demand(field, overlap),), Orientation.common)
    bound = max(relax(task, angle_deg, 0.05, parts).bound for parts in (3, 5, 7))
    assert bound == columns * rows


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("seed", "closely"), [(0, False), (1, False), (1, True)])
def test_no_bound_exceeds_a_plan_that_exists(place, seed, closely):
    """Panels strewn about at one angle, the region well inside what they serve."""
    random = np.random.default_rng(seed)
    orientation = Orientation.common(random.uniform(0, 180))
    basis = sky_basis(*place, 0.0)
    centers = plane_to_vector(random.uniform(-0.05, 0.05, (7, 2)), basis)
    demand = overlap_demand(FIELD, 0.15)
    smaller = plane_to_vector(np.array(demand.shape) * 0.8, orientation.bases(centers)[:, None])
    rings = vector_to_plane(smaller, basis)
    union = shapely.union_all(shapely.polygons(rings))
    blob = max(shapely.get_parts(union), key=lambda part: part.area)
    region = Region.from_vectors(plane_to_vector(np.asarray(blob.exterior.coords)[:-1], basis))
    enough = not find_gap(region, orientation.bases(centers), (demand,))
    angles = AngleRange(orientation.angle_deg - 20, 40.0)
    bounds = AngleBounds(Task(region, (demand,), Orientation.common, angles), closely=closely)
    list(bounds.refine(50, 60, orientation.angle_deg))
    for _ in range(3):
        bounds.settle(50)
    if enough:
        assert bounds.least <= len(centers)
    assert bounds.least >= 1


def test_bound_for_any_angle_is_never_above_that_for_one():
    region = Region.rectangle((130.0, -30.0), 9.0, 5.0, 37.0)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common)
    everywhere = AngleBounds(task)
    list(everywhere.refine(99, 40, 37.0))
    assert 3 <= relax_any(task, 3).bound <= everywhere.least


def test_errors_are_part_of_the_bound():
    region = Region.circle((130.0, -30.0), 3.0)
    plain = Task(region, (overlap_demand(FIELD, 0.02),), Orientation.common, AngleRange(0.0, 0.0))
    kept = kept_shape(FIELD, shift_rad=math.radians(0.25), turn_rad=math.radians(2.0))
    shaken = Task(
        region, (*plain.demands, Demand(kept, (0.0, 0.0))), Orientation.common, AngleRange(0.0, 0.0)
    )
    assert relax(shaken, 0.0, 0.0, 5).total > relax(plain, 0.0, 0.0, 5).total + 1.0


def test_refining_never_lowers_a_bound():
    region = Region.circle((130.0, -30.0), 3.5)
    bounds = AngleBounds(
        Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common, AngleRange(0.0, 40.0))
    )
    first = bounds.least
    list(bounds.refine(99, 20, 10.0))
    assert bounds.least >= first and bounds.spent <= 21


def test_regions_around_the_pole_have_a_bound():
    region = Region.circle((10.0, 88.0), 8.0)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common, AngleRange(0.0, 10.0))
    area = region.area_deg2 / FIELD.area_deg2
    assert relax(task, 5.0, 5.0, 3).total >= 0.5 * area


@pytest.mark.parametrize("place", PLACES)
def test_rounds_make_a_bound_sharper_and_a_finer_lattice_hardly_more(place):
    region = Region.circle(place, 4.0)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common)
    view = view_of(task, 20.0, 0.5)
    packing = Packing([view], lattices(view, 2), lambda: lattices(view, 8))
    totals = [packing.total]
    while len(totals) < 12 and packing.sharpen():
        totals.append(packing.total)
    assert totals == sorted(totals) and totals[-1] > totals[0]
    assert totals[-1] == pytest.approx(relax(task, 20.0, 0.5, 8).total, rel=0.04)


@pytest.mark.parametrize("declination_deg", [0.0, -35.0, 62.0])
def test_what_panels_leave_unserved_holds_a_point_between_their_edges(declination_deg):
    """Points strewn over the region, told apart by the panels that serve them: no kind of some size is missed."""
    random = np.random.default_rng(5)
    region = Region.circle((130.0, declination_deg), 4.0)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common)
    view = view_of(task, 20.0, 0.0)
    places = random.uniform(-0.06, 0.06, (9, 2))
    strewn = random.uniform(-0.07, 0.07, (4000, 2))
    strewn = plane_to_vector(strewn[np.hypot(*strewn.T) < 0.068], region.basis)
    both = (strewn, between_edges(view, places)[0])
    found, served = (view.holds(view.extents([points])[0], places).T for points in both)
    kinds, count = np.unique(found, axis=0, return_counts=True)
    common = kinds[count > 0.01 * len(strewn)]
    assert len(common) >= 12
    assert (common[:, None] == served).all(axis=2).any(axis=1).all()


def test_points_between_edges_prove_what_a_lattice_does_not():
    region = eight_regions()["C"]
    task = Task(region, (overlap_demand(Field(3.2, 2.1), 0.15),), Orientation.common)
    view = view_of(task, 24.2, 0.0)
    proven = {}
    for closely in (False, True):
        packing = Packing([view], lattices(view, 4), lambda: lattices(view, 9), closely=closely)
        for _ in range(20):
            packing.sharpen()
        proven[closely] = proven_count(packing.total)
    assert proven == {False: 11, True: 12}


def test_corners_of_cells_tell_what_their_middles_do_not():
    """Eleven panels whole hold the middle of each cell, and leave a corner unserved that lies beside the rim."""
    region = eight_regions()["C"]
    task = Task(region, (overlap_demand(Field(3.2, 2.1), 0.15),), Orientation.common)
    view = view_of(task, 137.6484375, 0.0234375)
    packing = Packing([view], lattices(view, 4), lambda: lattices(view, 12), closely=True)
    while proven_count(packing.total) < 12:
        assert packing.sharpen()


def test_narrow_angles_begin_anew_once_and_keep_their_bound():
    region = eight_regions()["L"]
    task = Task(region, (overlap_demand(Field(3.2, 2.1), 0.15),), Orientation.common, AngleRange(28.0, 0.6))
    bounds = AngleBounds(task, closely=True)
    assert not bounds.intervals[0].may_begin_anew
    for interval in bounds.intervals[0].halves():
        bounds._solve(interval)
        while interval.may_sharpen and interval.rounds < 3:
            interval.sharpen()
        before, points = interval.bound, interval.packing
        assert interval.may_begin_anew and before > 1
        interval.begin_anew()
        bounds._solve(interval)
        assert interval.bound >= before and interval.packing is not points
        assert not interval.may_begin_anew


@pytest.mark.parametrize("seed", range(3))
def test_integer_programs_find_the_fewest_of_all_choices(seed):
    """Against every choice of sets, one by one, for a few points strewn over a region."""
    random = np.random.default_rng(seed)
    region = Region.circle((130.0, -30.0), 2.6)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common, AngleRange(20.0, 0.0))
    view = view_of(task, 20.0, 0.0)
    points = random.uniform(-0.03, 0.03, (14, 2))
    vectors = plane_to_vector(points[np.hypot(*points.T) < 0.04], region.basis)
    packing = Packing([view], [vectors], lambda: [vectors[:0]])
    sets = packing.relaxation(20.0, 0.0).sets
    least = next(
        count
        for count in range(1, len(sets) + 1)
        if any(
            sets[list(chosen)].any(axis=0).all() for chosen in itertools.combinations(range(len(sets)), count)
        )
    )
    bound, places, took_in = packing.settle()
    assert bound == len(places) == least and not took_in
    assert math.ceil(packing.total - 1e-6) <= least


@pytest.mark.parametrize(("total", "count"), [(3.0, 3), (3.0 + 1e-9, 3), (3.01, 4), (0.0, 1)])
def test_whole_numbers_are_rounded_up_safely(total, count):
    assert proven_count(total) == count


def test_points_lie_on_the_region():
    region = Region.circle((0.0, 60.0), 5.0)
    points = lattice_points(region, Chart(Orientation.common(10.0), region.basis[2]), (0.02, 0.02))
    xy = vector_to_plane(points, region.basis)
    assert shapely.distance(region.polygon, shapely.points(xy)).max() < 1e-12
    assert len(points) > 100
    assert sky_to_vector(0.0, 60.0) @ region.basis[2] > 0.999


def test_bound_of_an_interval_holds_for_plans_at_its_ends():
    """A rectangle that six panels cover at 37 degrees: intervals that hold 37 never prove more than six."""
    region = Region.rectangle((20.0, 0.0), 3.3 * 2.7 * 0.98, 2.2 * 1.85 * 0.98, 37.0)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common)
    for middle, half in ((37.0, 0.0), (36.0, 1.0), (39.0, 2.0), (33.0, 4.0), (47.0, 10.0)):
        assert relax(task, middle, half, 4).bound <= 6


def test_bounds_stop_where_what_is_left_will_not_do():
    """With the same budget, one that knows how much there is in all spends less and proves as much."""
    region = Region.circle((130.0, -30.0), 3.5)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common, AngleRange(0.0, 120.0))
    patient, sparing = AngleBounds(task), AngleBounds(task, most=60)
    list(patient.refine(99, 60, 10.0))
    list(sparing.refine(99, 60, 10.0))
    assert sparing.least == patient.least and sparing.spent < patient.spent


def test_no_bound_is_sought_where_the_first_intervals_show_that_it_would_take_too_much():
    region = Region.circle((10.0, 88.0), 8.0)
    task = Task(region, (overlap_demand(FIELD, 0.15),), Orientation.common)
    bounds = AngleBounds(task, floor=50, most=20)
    assert bounds.least == 50 and sum(i.packing is not None for i in bounds.intervals) == 3
    assert list(bounds.refine(99, 20, 10.0)) == []


def test_what_away_from_the_rim_is_served_is_enclosed_tightly():
    """A point whose box the region holds whole, at declination 62: the enclosure is hardly larger than the places."""
    region = Region.circle((40.0, 62.0), 5.0)
    demand = overlap_demand(FIELD, 0.2)
    chart = Chart(Orientation.common(0.0), region.basis[2])
    extent, usable = enclosures(region, chart, demand, region.basis[2:], 0.0)
    ends = chart.places_showing(region.basis[2], np.array(demand.core) * [[1, 0], [-1, 0], [0, 1], [0, -1]])
    width, height = np.ptp(ends[:2, 0]), np.ptp(ends[2:, 1])
    assert usable[0]
    assert width <= extent[0, 1] - extent[0, 0] < 1.09 * width
    assert height <= extent[0, 3] - extent[0, 2] < 1.09 * height

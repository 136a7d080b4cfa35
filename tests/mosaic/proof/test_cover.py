import math

import numpy as np
import pytest
from spherical_geometry.polygon import SingleSphericalPolygon

from planner.geometry import footprint_vectors, plane_to_vector, sky_basis, vector_to_sky
from planner.mosaic.demand import Demand, kept_shape, overlap_demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from planner.mosaic.proof.cover import Cover, find_gap
from planner.mosaic.proof.largest_box import largest_box
from planner.mosaic.region import Region
from planner.mosaic.rings import polygon_area_sr
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

FULL_DEG2 = math.degrees(1) ** 2


def pair(field, overlap):
    """Two panels side by side whose cores meet at exactly this overlap, and the region between them."""
    size = Field(field.width_deg, field.height_deg)
    system = Orientation.square_with(field.ra_deg, field.dec_deg, field.position_angle_deg)
    half_step = math.degrees(math.atan(size.half_width * (1 - overlap)))
    centers = system.centers([half_step, -half_step], [0.0, 0.0])
    region = Region.rectangle(
        (field.ra_deg, field.dec_deg), 2 * half_step, 0.6 * size.height_deg, field.position_angle_deg
    )
    return size, system.bases(centers), region


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("overlap", [0.05, 0.15, 0.5])
def test_tells_overlaps_apart_by_a_thousandth(field, overlap):
    size, bases, region = pair(field, overlap)
    assert not find_gap(region, bases, [overlap_demand(size, overlap - 0.001)])
    gap = find_gap(region, bases, [overlap_demand(size, overlap + 0.001)])
    assert gap.area_deg2 > 0
    assert gap.center_deg is not None


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("overlap", [0.05, 0.15, 0.5])
def test_finds_the_overlap_from_below(field, overlap):
    size, bases, region = pair(field, overlap)
    unit = (size.half_width, size.half_height)
    found = largest_box(Cover(region, bases), overlap_demand(size, 0).shape, unit, expected=0.1, cap=1.0)
    assert overlap - 3e-6 < found <= overlap + 1e-12


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_one_panel_that_holds_the_region_has_the_cap(field):
    size = Field(field.width_deg, field.height_deg)
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)[None]
    region = Region.circle((field.ra_deg, field.dec_deg), 0.45 * field.height_deg)
    unit = (size.half_width, size.half_height)
    assert (
        largest_box(Cover(region, basis), overlap_demand(size, 0).shape, unit, expected=0.15, cap=1.0) == 1.0
    )


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_gap_area_agrees_with_spherical_geometry(field):
    size = Field(field.width_deg, field.height_deg)
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)
    shifted = plane_to_vector([0.7 * size.half_width, 0.4 * size.half_height], basis)
    region = Region.rectangle(
        tuple(map(float, vector_to_sky(shifted))),
        field.width_deg,
        field.height_deg,
        field.position_angle_deg + 17,
    )
    gap = find_gap(region, basis[None], [Demand(overlap_demand(size, 0).shape, (0.0, 0.0))])
    panel = footprint_vectors(basis, size.half_width, size.half_height)
    both = SingleSphericalPolygon(_closed(panel)).intersection(
        SingleSphericalPolygon(_closed(region.outline_vectors))
    )
    assert gap.area_deg2 == pytest.approx(region.area_deg2 - both.area() * FULL_DEG2, rel=1e-6)


def _closed(corners):
    inside = corners.mean(axis=0)
    if polygon_area_sr(corners, inside / np.linalg.norm(inside)) < 0:
        corners = corners[::-1]
    return np.vstack([corners, corners[:1]])


def test_the_missing_panel_is_the_gap():
    field = Field(3.3, 2.2)
    system = Orientation.square_with(128.0, -45.0, 20.0)
    step = [math.degrees(2 * math.atan(half * 0.85)) for half in (field.half_width, field.half_height)]
    lon, lat = np.meshgrid(np.array([-1, 0, 1]) * step[0] * 0.999, np.array([-1, 0, 1]) * step[1] * 0.999)
    centers = system.centers(lon.ravel(), lat.ravel())
    region = Region.rectangle((128.0, -45.0), 2 * step[0], 2 * step[1], 20.0)
    demand = overlap_demand(field, 0.15)
    assert not find_gap(region, system.bases(centers), [demand])
    rest = np.delete(centers, 4, axis=0)
    gap = find_gap(region, system.bases(rest), [demand])
    # the middle panel's own ground: its core without what its neighbours serve is all of it
    core = 4 * math.atan(demand.core[0]) * math.atan(demand.core[1]) * FULL_DEG2
    assert gap.area_deg2 == pytest.approx(core, rel=0.01)
    assert gap.center_deg == pytest.approx((128.0, -45.0), abs=0.05)


def test_region_with_an_island_of_concave_shape_is_served_across_its_bay():
    # the box is cut with the region: across a bay wider than the box nothing needs to be in one panel
    field = Field(2.0, 2.0)
    outline = ((0, 0), (3, 0), (3, 1.5), (2, 1.5), (2, 0.6), (1, 0.6), (1, 1.5), (0, 1.5))
    region = Region(tuple((float(a), float(d)) for a, d in outline))
    bases = sky_basis([2.2, 0.8], [0.75, 0.75], [0.0, 0.0])
    wide = find_gap(region, bases, [overlap_demand(field, 0.29)])
    assert not wide
    assert find_gap(region, bases, [overlap_demand(field, 0.31)])


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_agrees_with_brute_force(field):
    rng = np.random.default_rng(int(field.ra_deg * 10))
    size = Field(field.width_deg, field.height_deg)
    half = (size.half_width, size.half_height)
    system = Orientation.common(field.position_angle_deg)
    base = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)
    xy = rng.uniform(-0.9, 0.9, (7, 2)) * half
    centers = plane_to_vector(xy, base)
    ra_deg, dec_deg = vector_to_sky(centers)
    panels = [(a, d, field.position_angle_deg) for a, d in zip(ra_deg, dec_deg, strict=True)]
    region = Region.circle((field.ra_deg, field.dec_deg), 0.55 * field.height_deg)
    overlap = 0.2
    gap = find_gap(region, system.bases(centers), [overlap_demand(size, overlap)])
    points = oracle.spread_over(region.outline_deg, 150, rng)
    box = (overlap * half[0], overlap * half[1])
    unserved = oracle.unserved(points, panels, half, box, region.outline_deg)
    assert bool(gap) or not len(unserved)
    if gap:
        inside = gap.points(3)
        assert len(oracle.unserved(inside, panels, half, box, region.outline_deg, fineness=41)) >= 1


def test_kept_shape_survives_every_combination_of_errors():
    field, shift, turn = Field(3.3, 2.2), math.radians(0.1), math.radians(3.0)
    shape = np.array(kept_shape(field, shift_rad=shift, turn_rad=turn))
    rim = plane_to_vector(np.concatenate([shape, (shape + np.roll(shape, -1, axis=0)) / 2]), np.eye(3))
    rng = np.random.default_rng(5)
    worst = np.inf
    for _ in range(3000):
        direction = rng.uniform(0, 2 * math.pi)
        turned = _turn_about(
            np.eye(3)[2], rng.uniform(-turn, turn) if rng.random() < 0.5 else rng.choice([-turn, turn])
        )
        axis = np.array([math.cos(direction), math.sin(direction), 0.0])
        moved = np.eye(3) @ turned.T @ _turn_about(axis, shift).T
        xy = (rim @ moved[:2].T) / (rim @ moved[2])[:, None]
        room = np.array([field.half_width, field.half_height]) - np.abs(xy)
        worst = min(worst, room.min())
    assert worst >= -1e-15
    assert worst < 0.01 * field.half_height  # and it is not needlessly small


def _turn_about(axis, angle):
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.eye(3) + math.sin(angle) * k + (1 - math.cos(angle)) * k @ k


def test_kept_shape_without_errors_is_the_panel():
    field = Field(3.3, 2.2)
    assert kept_shape(field, shift_rad=0, turn_rad=0) == overlap_demand(field, 0).shape
    assert kept_shape(field, shift_rad=math.radians(1.2), turn_rad=0) == ()


def test_panels_that_stay_keep_their_cores():
    region = Region.circle((40.0, 62.0), 2.0)
    middles = sky_basis(np.array([38.0, 40.0, 42.0]), np.array([61.5, 62.0, 62.5]), 10.0)
    moved = middles.copy()
    moved[1] = sky_basis(40.2, 61.8, 10.0)
    demand = overlap_demand(Field(2.0, 1.5), 0.2)
    before = Cover(region, middles)
    cores = before.cores(demand)
    after = before.moved(moved[::-1]).cores(demand)
    assert after[0] is cores[2] and after[2] is cores[0] and after[1] is not cores[1]
    assert after[1].equals(Cover(region, moved).cores(demand)[1])

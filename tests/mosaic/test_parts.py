"""Regions of several parts: what they hold, and plans over them, against brute force written from the definitions."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from planner.errors import InputError
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky
from planner.mosaic.build import build_mosaic
from planner.mosaic.panel import Field
from planner.mosaic.proof.prove import prove
from planner.mosaic.region import Part, Region
from planner.mosaic.terms import Layout, Terms
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

SOME_FIELDS = [
    field
    for field in HARD_FIELDS
    if field.name in ("plain", "zero_hour", "on_north_pole", "near_south_pole", "wide")
]
EDGE = 1e-7
"""Points so near a rim (radians) are left out: either answer is right there."""


def near(field, left, up):
    """Position so many panel widths to the left and up of a field's middle, degrees."""
    xy = np.tan(math.radians(small(field).width_deg)) * np.array([left, up])
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)
    ra_deg, dec_deg = vector_to_sky(plane_to_vector(xy, basis))
    return float(ra_deg), float(dec_deg)


def small(field):
    """Panel of a size that a few parts about a hard field are a few panels."""
    scale = 0.2 if field.width_deg > 30 else 1.0
    return Field(scale * field.width_deg, scale * field.height_deg)


def three_parts(field):
    """Two parts that overlap and one that lies apart."""
    wide = small(field).width_deg
    return [
        Region.circle(near(field, -1.2, 0.0), 0.55 * wide),
        Region.rectangle(near(field, -0.6, 0.3), 0.8 * wide, 0.5 * wide, 33.0),
        Region.rectangle(near(field, 1.3, -0.4), 0.7 * wide, 0.9 * wide, 70.0),
    ]


def points_about(region, count, seed=5):
    rng = np.random.default_rng(seed)
    reach = 1.2 * math.tan(region.radius_rad)
    return plane_to_vector(reach * rng.uniform(-1, 1, (count, 2)), region.basis)


def holds(region, points):
    return shapely.contains_xy(region.polygon, *vector_to_plane(points, region.basis).T)


def off_the_rim(region, points):
    places = shapely.points(vector_to_plane(points, region.basis))
    return shapely.distance(region.polygon.boundary, places) > EDGE


def as_tuples(panels):
    return [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in panels]


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_parts_together_hold_what_any_of_them_holds(field):
    parts = three_parts(field)
    region = Region.from_parts(parts)
    points = points_about(region, 1500)
    wanted = oracle.in_parts(points, [part.outline_deg for part in parts])
    told = off_the_rim(region, points)
    assert 100 < wanted.sum() < 1400
    assert np.array_equal(holds(region, points)[told], wanted[told])
    overlap = sum(part.area_deg2 for part in parts) - region.area_deg2
    assert 0.05 * parts[1].area_deg2 < overlap < parts[1].area_deg2
    assert len(region.rings_deg) == 2


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_area_of_parts_that_lie_apart_is_the_sum(field):
    parts = three_parts(field)[1:]
    total = sum(part.area_deg2 for part in parts)
    assert Region.from_parts(parts).area_deg2 == pytest.approx(total, rel=1e-9)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_hull_is_convex_and_holds_every_corner_of_the_parts(field):
    parts = three_parts(field)
    hull = Region.from_parts(parts, join="hull")
    corners = hull.outline_vectors
    normals = np.cross(corners, np.roll(corners, -1, axis=0))
    side = normals @ np.concatenate([part.outline_vectors for part in parts]).T
    side *= np.sign(normals @ hull.basis[2])[:, None]
    assert side.min() > -1e-12  # of edges of a few degrees down to arc seconds: rounding
    assert hull.rings_deg == (hull.outline_deg,)
    assert hull.area_deg2 > 1.2 * Region.from_parts(parts).area_deg2


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_a_ring_has_a_hole(field):
    center, radius_deg = (field.ra_deg, field.dec_deg), small(field).height_deg
    outer, inner = Region.circle(center, radius_deg), Region.circle(center, 0.5 * radius_deg)
    ring = Region.from_rings([outer.outline_vectors, inner.outline_vectors])
    assert ring.area_deg2 == pytest.approx(outer.area_deg2 - inner.area_deg2, rel=1e-9)
    points = points_about(ring, 800)
    wanted = oracle.in_outline(points, outer.outline_deg) & ~oracle.in_outline(points, inner.outline_deg)
    told = off_the_rim(ring, points)
    assert np.array_equal(holds(ring, points)[told], wanted[told])
    assert len(ring.grown(0.3 * radius_deg).rings_deg) == 2
    assert len(ring.grown(0.51 * radius_deg).rings_deg) == 1


@pytest.mark.parametrize(
    ("field", "kind"),
    list(zip(SOME_FIELDS, ("free", "sliding", "grid", "sliding", "free"), strict=True)),
    ids=str,
)
def test_plans_over_parts_serve_every_point_and_need_no_more_than_parts_one_by_one(field, kind):
    parts, view = three_parts(field), small(field)
    region, terms = Region.from_parts(parts), Terms(view, overlap=0.15)
    layout = Layout(kind=kind, angle_deg=20.0, effort="quick")
    mosaic = build_mosaic(region, terms, layout)
    assert mosaic.shortfalls == ()
    rng = np.random.default_rng(11)
    outlines = [part.outline_deg for part in parts]
    points = np.concatenate([oracle.spread_over(outline, 120, rng) for outline in outlines])
    half = (view.half_width, view.half_height)
    box = (0.15 * half[0], 0.15 * half[1])
    panels = as_tuples(mosaic.panels)
    assert not len(oracle.uncovered(points, panels, half))
    assert not len(oracle.unserved_in_parts(points, panels, half, box, outlines))
    alone = [build_mosaic(part, terms, layout) for part in (Region.from_parts(parts[:2]), parts[2])]
    assert len(mosaic.panels) <= sum(len(one.panels) for one in alone)
    assert len(mosaic.panels) >= mosaic.panel_count_bound


@pytest.mark.parametrize("field", SOME_FIELDS, ids=str)
def test_a_plan_that_lacks_a_panel_has_a_gap_where_the_oracle_finds_one(field):
    parts, view = three_parts(field), small(field)
    region, terms = Region.from_parts(parts), Terms(view, overlap=0.15)
    mosaic = build_mosaic(region, terms, Layout(kind="grid", angle_deg=20.0, effort="quick"))
    fewer = prove(region, terms, mosaic.panels[1:])
    rng = np.random.default_rng(2)
    points = np.concatenate([oracle.spread_over(part.outline_deg, 800, rng) for part in parts])
    half = (view.half_width, view.half_height)
    bare = oracle.uncovered(points, as_tuples(fewer.panels), half)
    assert fewer.covered == (not len(bare))
    assert fewer.shortfalls


@pytest.mark.parametrize("field", SOME_FIELDS, ids=str)
def test_one_panel_that_holds_two_parts_is_found(field):
    view = small(field)
    pair = [Region.circle(near(field, side * 0.25, 0.0), 0.1 * view.width_deg) for side in (-1, 1)]
    mosaic = build_mosaic(Region.from_parts(pair), Terms(view), Layout(effort="quick"))
    assert len(mosaic.panels) == 1
    assert mosaic.overlap_found == 1.0


def test_what_lies_between_is_wanted_only_where_asked():
    field = HARD_FIELDS[0]
    pair = [Region.circle(near(field, side * 4.0, 0.0), 0.3 * field.height_deg) for side in (-1, 1)]
    layout = Layout(angle_deg=field.position_angle_deg, effort="quick")
    apart, hull = (
        len(build_mosaic(Region.from_parts(pair, join=join), Terms(small(field)), layout).panels)
        for join in ("apart", "hull")
    )
    assert apart == 2
    assert hull >= 9  # 8.4 panel widths at 15 per cent of overlap


def test_per_panel_angles_over_parts():
    parts = three_parts(HARD_FIELDS[0])
    layout = Layout(angles="per_panel", angle_deg=30.0, effort="quick")
    mosaic = build_mosaic(Region.from_parts(parts), Terms(small(HARD_FIELDS[0])), layout)
    assert mosaic.shortfalls == ()


def test_parts_nearly_on_opposite_sides_are_refused_and_parts_within_reach_are_not():
    first = Region.circle((0.0, 20.0), 1.0)
    with pytest.raises(InputError, match="reach 15. degrees across the sky.*one by one"):
        Region.from_parts([first, Region.circle((175.0, 5.0), 1.0)])
    with pytest.raises(InputError, match="degrees across the sky"):
        Region.from_parts([Region.circle((ra, 0.0), 1.0) for ra in (0.0, 120.0, 240.0)])
    far = Region.from_parts([Region.circle((ra, 0.0), 1.0) for ra in (300.0, 70.0)])
    assert far.center_deg == pytest.approx((5.0, 0.0), abs=1e-6)
    with pytest.raises(InputError, match="at least one part"):
        Region.from_parts([])


def test_parts_keep_their_names_and_the_region_can_be_made_again_from_what_it_shows():
    parts = [Part("one", Region.circle((1.0, 2.0), 0.5), 3.0), Part("two", Region.circle((4.0, 2.0), 0.5))]
    region = Region.from_parts(parts)
    assert region.parts == tuple(parts)
    assert [part.name for part in Region.from_parts([p.region for p in parts]).parts] == ["part 1", "part 2"]
    assert eval(repr(region)) == region  # noqa: S307
    assert replace(region).polygon.equals(region.polygon)

import math

import numpy as np
import pytest
from spherical_geometry.polygon import SingleSphericalPolygon

from planner.errors import InputError
from planner.geometry import separation_rad, sky_to_vector
from planner.mosaic.orientation import Orientation
from planner.mosaic.rectangle import refuse_too_wide, smallest_rectangle
from planner.mosaic.region import Region
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

FULL_DEG2 = math.degrees(1) ** 2


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_circle_encloses_all_points_within_its_radius(field):
    radius_deg = field.height_deg / 2
    region = Region.circle((field.ra_deg, field.dec_deg), radius_deg)
    exact = 2 * math.pi * (1 - math.cos(math.radians(radius_deg))) * FULL_DEG2
    assert exact < region.area_deg2 < exact * 1.0003
    center = sky_to_vector(field.ra_deg, field.dec_deg)
    edges = region.outline_vectors + np.roll(region.outline_vectors, -1, axis=0)
    nearest = np.degrees(separation_rad(edges, center)).min()
    assert nearest == pytest.approx(radius_deg, rel=1e-9)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_area_agrees_with_spherical_geometry(field):
    region = Region.rectangle(
        (field.ra_deg, field.dec_deg), field.width_deg, field.height_deg, field.position_angle_deg
    )
    polygon = SingleSphericalPolygon(np.vstack([region.outline_vectors, region.outline_vectors[:1]]))
    area = polygon.area()
    area = min(area, 4 * math.pi - area)
    assert region.area_deg2 == pytest.approx(area * FULL_DEG2, rel=1e-6)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_margin_reaches_at_least_that_far_and_hardly_further(field):
    margin_deg = 0.2 * field.height_deg
    region = Region.rectangle(
        (field.ra_deg, field.dec_deg), field.width_deg, field.height_deg, field.position_angle_deg
    )
    grown = region.grown(margin_deg)
    inner = region.outline_vectors
    share = np.linspace(0, 1, 9)[:, None, None]
    rim = ((1 - share) * inner + share * np.roll(inner, -1, axis=0)).reshape(-1, 3)
    rim /= np.linalg.norm(rim, axis=1, keepdims=True)
    outer = grown.outline_vectors
    sides = np.cross(outer, np.roll(outer, -1, axis=0))
    sides *= np.sign(sides @ grown.basis[2])[:, None]
    sides /= np.linalg.norm(sides, axis=1, keepdims=True)
    least = np.degrees(np.arcsin((rim @ sides.T).min(axis=1)))
    assert least.min() >= margin_deg - 1e-9  # short sides give their direction only so well
    apart = np.degrees(separation_rad(outer[:, None], rim[None])).min(axis=1)
    assert apart.max() <= margin_deg * 1.3  # coarse: the rim is sampled


def test_margin_closes_a_bay_of_a_concave_outline():
    bay = [(0, 0), (4, 0), (4, 4), (2.1, 4), (2.1, 1), (1.9, 1), (1.9, 4), (0, 4)]
    grown = Region(tuple(bay)).grown(0.2)
    assert oracle.in_outline(oracle.vectors([2.0], [2.0]), grown.outline_deg).all()


def test_region_around_the_pole_and_across_zero_hour():
    region = Region(((350.0, 88.0), (80.0, 88.5), (200.0, 87.5)))
    assert oracle.in_outline(oracle.vectors([0.0], [90.0]), region.outline_deg).all()
    # three flat triangles about the pole: sin(angle) r1 r2 / 2 each
    flat = (2.0 * 1.5 * math.sin(math.radians(90)) + 1.5 * 2.5 * math.sin(math.radians(120))) / 2
    flat += 2.5 * 2.0 * math.sin(math.radians(150)) / 2
    assert region.area_deg2 == pytest.approx(flat, rel=1e-3)
    wrapped = Region(((359.0, 10.0), (1.0, 10.0), (1.0, 12.0), (359.0, 12.0)))
    moved = Region(((29.0, 10.0), (31.0, 10.0), (31.0, 12.0), (29.0, 12.0)))
    assert wrapped.area_deg2 == pytest.approx(moved.area_deg2, rel=1e-12)


def test_orientation_of_the_outline_does_not_matter():
    outline = ((10.0, 0.0), (14.0, 0.0), (12.0, 3.0))
    assert Region(outline).area_deg2 == pytest.approx(Region(outline[::-1]).area_deg2, rel=1e-12)


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (((0, 0), (1, 1)), "at least 3 corners"),
        (((0, 0), (2, 2), (2, 0), (0, 2)), "crosses"),
        (((0, 0), (1, 0), (2, 0)), "no area"),
        (((0, 0), (120, 0), (240, 0)), "too wide"),
    ],
)
def test_bad_outlines(outline, words):
    with pytest.raises(InputError, match=words):
        Region(tuple((float(ra), float(dec)) for ra, dec in outline))


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_smallest_rectangle_of_a_rectangle_is_itself(field):
    center = (field.ra_deg, field.dec_deg)
    region = Region.rectangle(center, field.width_deg, field.height_deg, field.position_angle_deg)
    found = smallest_rectangle(region, Orientation.common(field.position_angle_deg))
    assert found.center_deg == center
    assert (found.width_deg, found.height_deg) == pytest.approx((field.width_deg, field.height_deg), rel=1e-9)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_smallest_rectangle_touches_an_irregular_region_on_all_sides(field):
    rng = np.random.default_rng(3)
    from planner.geometry import plane_to_vector, sky_basis, vector_to_plane

    angle = np.sort(rng.uniform(0, 2 * np.pi, 9))
    reach = math.tan(math.radians(field.height_deg / 2)) * rng.uniform(0.5, 1.0, 9)
    xy = reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    region = Region.from_vectors(plane_to_vector(xy, sky_basis(field.ra_deg, field.dec_deg, 0.0)))
    found = smallest_rectangle(region, Orientation.common(25.0))
    corners = vector_to_plane(region.outline_vectors, sky_basis(*found.center_deg, 25.0))
    half = np.tan(np.radians([found.width_deg, found.height_deg]) / 2)
    assert np.allclose(corners.max(axis=0), half, atol=1e-12)
    assert np.allclose(corners.min(axis=0), -half, atol=1e-12)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_every_hard_field_has_a_flat_picture(field):
    refuse_too_wide(Region.rectangle((field.ra_deg, field.dec_deg), field.width_deg, field.height_deg, 0.0))

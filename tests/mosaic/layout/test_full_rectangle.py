"""The largest rectangle that panels fill, against erosion by shapely and points by brute force."""

import math

import numpy as np
import pytest
import shapely

from planner.geometry import footprint_vectors, plane_to_vector, sky_basis, vector_to_plane, vector_to_sky
from planner.mosaic.layout.full_rectangle import FilledGround
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

BOX = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
SLACK = 1.001
"""The plane of a picture magnifies what lies beside its centre, here by less than this."""
SQUARE_ONES = [field for field in HARD_FIELDS if "pole" not in field.name]


def scattered(field, seed, count=7):
    """Panels that stand square with each other about a hard field: centres, orientation and their corners."""
    scale = 0.15 if field.width_deg > 30 else 1.0
    view = Field(scale * field.width_deg, scale * field.height_deg)
    rng = np.random.default_rng(seed)
    xy = rng.uniform(-1.2, 1.2, (count, 2)) * [view.half_width, view.half_height]
    centers = plane_to_vector(xy, sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg))
    stands = Orientation.square_with(field.ra_deg, field.dec_deg, field.position_angle_deg)
    corners = footprint_vectors(stands.bases(centers), view.half_width, view.half_height)
    ra_deg, dec_deg = vector_to_sky(centers)
    angles = stands.position_angles_deg(centers)
    return stands, corners, list(zip(ra_deg, dec_deg, angles, strict=True)), view


def room_for(ground, half):
    """Whether a rectangle of half sizes fits into a polygon, by what it sweeps along the rim."""
    rings = shapely.get_rings(shapely.get_parts(ground))
    ends = np.concatenate(
        [np.stack([ring[:-1], ring[1:]], axis=1) for ring in map(shapely.get_coordinates, rings)]
    )
    swept = shapely.convex_hull(shapely.linestrings((ends[:, :, None] + BOX * half).reshape(len(ends), 8, 2)))
    return ground.difference(shapely.union_all(swept)).area > 1e-9 * half[0] * half[1]


def seen_from(rectangle, corners):
    basis = sky_basis(*rectangle.center_deg, rectangle.position_angle_deg)
    ground = shapely.union_all(shapely.polygons(vector_to_plane(corners, basis)))
    return ground, np.tan(np.radians([rectangle.width_deg, rectangle.height_deg]) / 2)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("aspect", [1.5, 0.6, None])
def test_no_larger_rectangle_fits_and_this_one_does(field, aspect):
    stands, corners, panels, view = scattered(field, seed=len(field.name))
    found = FilledGround(corners).largest(stands, aspect)
    rng = np.random.default_rng(1)
    xy = rng.uniform(-1, 1, (600, 2))
    xy[:400] /= np.abs(xy[:400]).max(axis=1, keepdims=True)  # on the rim
    ground, half = seen_from(found, corners)
    points = plane_to_vector(xy * half * (1 - 1e-9), sky_basis(*found.center_deg, found.position_angle_deg))
    assert not len(oracle.uncovered(points, panels, (view.half_width, view.half_height)))
    if aspect is not None:
        assert half[0] / half[1] == pytest.approx(aspect, rel=1e-9)
        assert room_for(ground, half * 0.999)
        assert not room_for(ground, half * SLACK)
    for share in np.geomspace(0.4, 2.5, 13) if aspect is None else ():
        assert not room_for(ground, half * SLACK * [share, 1 / share])


def test_one_panel_is_its_own_full_picture():
    view, stands = Field(3.5, 2.4), Orientation.common(30.0)
    center = plane_to_vector([[0.0, 0.0]], sky_basis(200.0, -30.0, 0.0))
    corners = footprint_vectors(stands.bases(center), view.half_width, view.half_height)
    found = FilledGround(corners).largest(stands)
    assert (found.width_deg, found.height_deg) == pytest.approx((3.5, 2.4), abs=1e-8)
    assert found.center_deg == pytest.approx((200.0, -30.0), abs=1e-8)
    assert found.position_angle_deg == 30.0


def test_panels_that_leave_a_hole_fill_less_than_their_rim():
    view, stands = Field(2.0, 2.0), Orientation.square_with(50.0, 0.0, 0.0)
    places = [(x, y) for x in (-1.9, 0.0, 1.9) for y in (-1.9, 0.0, 1.9) if (x, y) != (0.0, 0.0)]
    centers = stands.centers(*np.array(places).T)
    corners = footprint_vectors(stands.bases(centers), view.half_width, view.half_height)
    found = FilledGround(corners).largest(stands, 1.0)
    assert found.width_deg == pytest.approx(2.0, rel=2e-3)  # a ring one panel wide
    wide = FilledGround(corners).largest(stands, 2.0)
    assert wide.height_deg == pytest.approx(2.0, rel=2e-3)
    assert wide.width_deg == pytest.approx(4.0, rel=2e-3)


@pytest.mark.parametrize("field", SQUARE_ONES[:2], ids=str)
@pytest.mark.parametrize("aspect", [1.5, None])
def test_no_other_angle_gives_more_than_the_best(field, aspect):
    _, corners, _, _ = scattered(field, seed=4)
    ground = FilledGround(corners)
    start_deg = field.position_angle_deg
    best = ground.largest(Orientation.common(ground.best_angle_deg(aspect, start_deg=start_deg)), aspect)
    size = math.sqrt(best.width_deg * best.height_deg)
    for angle_deg in np.arange(0.0, 180.0, 15.0):
        other = ground.largest(Orientation.common(start_deg + angle_deg), aspect)
        assert math.sqrt(other.width_deg * other.height_deg) <= 1.004 * size

"""Made-up frames look where they say, and their stars stand where world coordinates have them."""

import numpy as np
import pytest

from planner.catalogue.stars import stars_within
from planner.frames.made_up.aim import Aim
from planner.frames.made_up.painter import FramePainter, Look
from planner.frames.review.match import turn_on_sky_deg
from planner.frames.solve.star_detection import detect_stars
from planner.geometry import separation_rad, sky_to_vector, vector_to_sky
from planner.rig.camera import Camera
from tests.frames.synthetic import Sky, frame_wcs
from tests.hard_fields import HARD_FIELDS

CAMERA = Camera(focal_length_mm=380.0, sensor_px=(6000, 4000), pixel_um=3.9)
BINNING = 10
STARRY = ("plain", "zero_hour", "on_north_pole", "near_south_pole")


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("towards_deg", [0.0, 90.0, 217.0])
def test_a_moved_aim_is_as_far_off_as_asked_and_turned_by_nothing(field, towards_deg):
    """Distance by arctan2 of vectors, turn by the review's own measure: two ways besides the rotation."""
    aim = Aim(field.ra_deg, field.dec_deg, field.position_angle_deg)
    moved = aim.moved(33.0, towards_deg)
    off = np.degrees(separation_rad(aim.basis[2], moved.basis[2])) * 60.0
    assert off == pytest.approx(33.0, abs=1e-6)
    assert turn_on_sky_deg(moved.basis[None], aim.basis[None])[0] == pytest.approx(0.0, abs=1e-6)
    left, up = aim.basis[0] @ moved.basis[2], aim.basis[1] @ moved.basis[2]
    found = np.degrees(np.arctan2(left, up)) - towards_deg
    assert (found + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-5)
    turned = moved.turned(2.0)
    assert turn_on_sky_deg(turned.basis[None], aim.basis[None])[0] == pytest.approx(2.0, abs=1e-6)


@pytest.mark.parametrize("field", [one for one in HARD_FIELDS if one.name in STARRY], ids=str)
def test_stars_stand_where_astropy_has_them(field):
    """The brightest catalogue stars of the frame, through astropy's WCS of the same plane."""
    aim = Aim(field.ra_deg, field.dec_deg, field.position_angle_deg)
    painter = FramePainter(CAMERA, BINNING)
    found = detect_stars(painter.pixels(aim, Look(), np.random.default_rng(5)))
    sky = Sky(
        aim.ra_deg, aim.dec_deg, aim.position_angle_deg,
        scale_arcsec_px=CAMERA.scale_arcsec_px * BINNING, size_px=painter.size_px,
    )  # fmt: skip
    stars = stars_within(sky_to_vector(aim.ra_deg, aim.dec_deg), np.radians(2.5), faintest_mag=9.5)
    xy = frame_wcs(sky).all_world2pix(np.column_stack(vector_to_sky(stars.vectors)), 0)
    inside = np.all((xy > 8) & (xy < np.array(painter.size_px) - 9), axis=1)
    apart = np.hypot(*np.moveaxis(xy[inside][:, None] - found.xy[None], -1, 0)).min(axis=1)
    assert inside.sum() >= 15
    assert np.median(apart) < 0.1
    assert np.mean(apart < 0.5) > 0.85  # a close pair is found as one star between both


def test_a_wide_field_draws_its_brightest_stars_and_a_tiny_one_none():
    wide = FramePainter(Camera(20.0, (6000, 4000), 3.9), BINNING)
    assert len(detect_stars(wide.pixels(Aim(300.0, 40.0, 60.0), Look(), np.random.default_rng(1))).flux) > 300
    tiny = FramePainter(Camera(20_000.0, (600, 400), 3.9), 1)
    pixels = tiny.pixels(Aim(210.0, 33.0, 15.0), Look(), np.random.default_rng(1))
    assert pixels.shape == (400, 600)
    assert len(detect_stars(pixels).flux) == 0


def test_clouds_leave_no_star_and_a_trail_streaks():
    painter, aim = FramePainter(CAMERA, BINNING), Aim(128.5, -45.8, 20.0)
    clouded = painter.pixels(aim, Look(dimmed_mag=9.0), np.random.default_rng(2))
    assert len(detect_stars(clouded).flux) < 6
    trailed = painter.pixels(aim, Look(trail_px=(15.0, 9.0)), np.random.default_rng(2))
    assert detect_stars(trailed).streak_px == pytest.approx(np.hypot(15.0, 9.0), rel=0.2)


def test_the_same_draws_give_the_same_pixels():
    painter, aim = FramePainter(CAMERA, BINNING), Aim(0.1, 25.0, 45.0)
    one, other = (painter.pixels(aim, Look(), np.random.default_rng(3)) for _ in range(2))
    assert np.array_equal(one, other)

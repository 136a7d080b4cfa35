"""A solved frame against the plan, and an earlier picture to lie on."""

import math
from dataclasses import replace

import pytest

from planner.errors import InputError
from planner.geometry import footprint_vectors, sky_basis
from planner.mosaic.panel import Field, Panel
from planner.rig.frame_check import check_frame, frame_binning, nearest_panel
from planner.rig.matching import match_picture

from .hand_made import CAMERA, solution_at


def binned(factor, *, stated, size=None):
    return solution_at(
        scale_x_arcsec_px=CAMERA.scale_arcsec_px * factor,
        scale_y_arcsec_px=CAMERA.scale_arcsec_px * factor,
        size_px=size or (6000 // factor, 4000 // factor),
        binning=(factor, factor) if stated else None,
    )


@pytest.mark.parametrize("stated", [True, False])
@pytest.mark.parametrize("factor", [1, 2, 3, 4])
def test_binning_is_allowed_for(factor, stated):
    check = check_frame(binned(factor, stated=stated), CAMERA)
    assert check.binning == (factor, factor)
    assert check.binning_stated == stated
    assert check.focal_length_mm == pytest.approx(380.0, rel=1e-9)
    assert check.focal_length_ratio == pytest.approx(1.0)
    assert check.whole_sensor


def test_focal_length_from_published_scale():
    """206.264806 x pitch / f: 3.9 micrometres at 500 mm give 1.608865 arc seconds a pixel."""
    check = check_frame(solution_at(scale_x_arcsec_px=1.608865, scale_y_arcsec_px=1.608865), CAMERA)
    assert check.focal_length_mm == pytest.approx(500.0, rel=1e-6)


def test_unlike_binning_of_rows_and_columns():
    scale = CAMERA.scale_arcsec_px
    odd = solution_at(
        scale_x_arcsec_px=2 * scale, scale_y_arcsec_px=scale, size_px=(3000, 4000), binning=(2, 1)
    )
    check = check_frame(odd, CAMERA)
    assert check.focal_length_mm == pytest.approx(380.0) and check.whole_sensor


def test_cropped_frame_is_told():
    cropped = replace(solution_at(), size_px=(3000, 3000))
    assert not check_frame(cropped, CAMERA).whole_sensor
    assert frame_binning(cropped, CAMERA) == (1, 1)


def test_nearest_panel_and_the_way_to_it():
    panels = [Panel("A1", 1, 1, 1, 120.0, -45.8, 0.0), Panel("A2", 2, 1, 2, 128.5, -45.3, 0.0)]
    found = nearest_panel(solution_at(), panels)
    assert (found.name, found.offset_arcmin) == ("A2", pytest.approx(30.0))
    assert found.direction_deg == pytest.approx(180.0)
    assert nearest_panel(solution_at(), []) is None


def earlier(field, angle=70.0, center=(10.0, 85.0)):
    basis = sky_basis(*center, angle)
    corners = footprint_vectors(basis, field.half_width, field.half_height)
    return solution_at(
        angle,
        ra_deg=center[0],
        dec_deg=center[1],
        corners=tuple(tuple(corner) for corner in corners.tolist()),
    )


def test_same_field_lies_exactly_on_it():
    field = Field(3.0, 2.0)
    found = match_picture(earlier(field), field)
    assert found.covered_share == pytest.approx(1.0)
    assert (found.position_angle_deg, found.quarter_turned) == (70.0, False)
    assert (found.ra_deg, found.dec_deg) == (10.0, 85.0)


def test_smaller_field_covers_its_share():
    """The solid angle of a tangent plane rectangle: 4 arcsin(ab / sqrt((1 + a^2)(1 + b^2)))."""
    large, small = Field(3.0, 2.0), Field(1.5, 1.0)
    found = match_picture(earlier(large), small)
    assert found.covered_share == pytest.approx(small.area_deg2 / large.area_deg2, rel=1e-9)


def test_a_tall_picture_wants_the_camera_turned_across():
    found = match_picture(earlier(Field(2.0, 3.0)), Field(3.0, 2.0))
    assert found.quarter_turned and found.covered_share == pytest.approx(1.0)
    assert found.position_angle_deg == pytest.approx(160.0)


@pytest.mark.parametrize(
    "bad", [{"ra_deg": math.nan}, {"scale_x_arcsec_px": 0.0}, {"scale_y_arcsec_px": 1e9}]
)
def test_solutions_that_make_no_sense(bad):
    with pytest.raises(InputError):
        solution_at(**bad, corners=((0.0, 0.0, 1.0),) * 4)

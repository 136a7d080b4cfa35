import astropy.units as u
import numpy as np
import pytest
from astropy.coordinates import SkyCoord, SkyOffsetFrame

from planner.geometry import (
    footprint_area_sr,
    footprint_vectors,
    plane_to_vector,
    position_angle_deg,
    separation_rad,
    sky_basis,
    sky_to_vector,
    triangle_area_sr,
    vector_to_sky,
)
from planner.mosaic.panel import Field, Panel, panel_corners
from planner.rig.camera import Camera
from tests.hard_fields import HARD_FIELDS

FULL_500 = Camera(500.0, (3600, 2400), 10.0)
"""36 x 24 mm behind 500 mm."""


def corners_deg(ra_deg, dec_deg, angle_deg, field):
    vectors = footprint_vectors(sky_basis(ra_deg, dec_deg, angle_deg), field.half_width, field.half_height)
    return np.stack(vector_to_sky(vectors), axis=-1)


@pytest.mark.parametrize(
    ("center", "angle_deg", "expected"),
    [
        (
            (100, 60),
            0,
            [
                (103.954364, 58.564427),
                (96.045636, 58.564427),
                (95.703850, 61.306988),
                (104.296150, 61.306988),
            ],
        ),
        (
            (100, 60),
            30,
            [
                (102.058297, 57.762236),
                (95.088107, 59.748798),
                (97.645561, 62.201123),
                (104.959267, 60.066707),
            ],
        ),
        (
            (0, 89.9),
            0,
            [(54.42966, 87.465715), (305.57034, 87.465715), (238.27629, 87.576593), (121.72371, 87.576593)],
        ),
    ],
)
def test_corners_of_36_x_24_mm_at_500_mm(center, angle_deg, expected):
    # computed by an independent formula; order SE, SW, NW, NE
    found = corners_deg(*center, angle_deg, FULL_500.field)
    assert np.abs(found - expected).max() < 6e-6


@pytest.mark.parametrize(("dec_deg", "sign"), [(90.0, 1), (-90.0, -1)])
def test_panel_on_a_pole_takes_its_angle_from_the_meridian_of_its_right_ascension(dec_deg, sign):
    panel = Panel("A1", 1, 1, 1, 70.0, dec_deg, 30.0)
    corners = panel_corners([panel], FULL_500.field)[0]
    assert np.abs(vector_to_sky(corners)[1]) == pytest.approx(np.full(4, 87.522551), abs=1e-6)
    up = corners[2] + corners[3]
    expected = (70.0 + 180.0 - 30.0) if sign > 0 else (70.0 + 30.0)
    assert float(vector_to_sky(up)[0]) == pytest.approx(expected % 360, abs=1e-9)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_corners_agree_with_astropy_offset_frames(field):
    size = Field(field.width_deg, field.height_deg)
    origin = SkyCoord(field.ra_deg, field.dec_deg, unit="deg")
    system = SkyOffsetFrame(origin=origin, rotation=field.position_angle_deg * u.deg)
    signs = np.array([[1, -1], [-1, -1], [-1, 1], [1, 1]])
    x, y = (signs * [size.half_width, size.half_height]).T
    lon, lat = np.arctan(x), np.arctan2(y, np.hypot(1, x))
    expected = SkyCoord(lon * u.rad, lat * u.rad, frame=system).icrs
    found = footprint_vectors(
        sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg), size.half_width, size.half_height
    )
    apart = separation_rad(found, sky_to_vector(expected.ra.deg, expected.dec.deg))
    assert np.degrees(apart).max() * 3600 < 1e-5  # arc seconds; astropy's matrices round at 1e-11


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_corners_run_counter_clockwise_from_inside(field):
    size = Field(field.width_deg, field.height_deg)
    a, b, c, d = footprint_vectors(
        sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg), size.half_width, size.half_height
    )
    # counter-clockwise from inside is clockwise from outside, where the formula counts positive
    area = -float(triangle_area_sr(a, b, c) + triangle_area_sr(a, c, d))
    assert area == pytest.approx(float(footprint_area_sr(size.half_width, size.half_height)), rel=1e-9)
    assert area > 0


@pytest.mark.parametrize(
    ("sensor_mm", "area_deg2"), [((36, 24), 11.334772), ((23.5, 15.7), 4.842832), ((17.6, 13.3), 3.073010)]
)
def test_area_of_fields_at_500_mm(sensor_mm, area_deg2):
    # two independent formulas: rectangle's solid angle and van Oosterom & Strackee 1983
    half = [side / 1000 for side in sensor_mm]
    assert np.degrees(np.degrees(footprint_area_sr(*half))) == pytest.approx(area_deg2, abs=1e-6)


@pytest.mark.parametrize(
    ("sensor_mm", "focal_mm", "expected"),
    [
        ((36, 24), 300, (6.86726, 4.58122)),
        ((36, 24), 1000, (2.06243, 1.37503)),
        ((23.5, 15.7), 300, (4.48588, 2.99780)),
        ((23.5, 15.7), 500, (2.69241, 1.79894)),
        ((17.6, 13.3), 500, (2.01660, 1.52398)),
        ((17.6, 13.3), 1000, (1.00838, 0.76202)),
    ],
)
def test_field_of_view(sensor_mm, focal_mm, expected):
    # field = 2 arctan(d / 2f), computed by hand
    camera = Camera(float(focal_mm), tuple(round(side * 100) for side in sensor_mm), 10.0)
    assert (camera.field.width_deg, camera.field.height_deg) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("focal_mm", "scale"), [(300, 2.681442), (500, 1.608865), (1000, 0.804433)])
def test_image_scale(focal_mm, scale):
    # 206.264806 x pitch (micrometres) / focal length (mm), 3.9 micrometres
    assert Camera(float(focal_mm), (6000, 4000), 3.9).scale_arcsec_px == pytest.approx(scale, abs=1e-6)
    assert Camera(float(focal_mm), (6000, 4000), 3.9, binning=2).scale_arcsec_px == pytest.approx(
        2 * scale, abs=2e-6
    )


@pytest.mark.parametrize(
    ("first", "second", "turn_deg"),
    [
        ((0, 0), (10, 0), 0.0),
        ((0, 30), (10, 30), 5.009537),
        ((0, 60), (10, 60), 8.665748),
        ((0, -60), (10, -60), -8.665748),
        ((0, 75), (10, 75), 9.660899),
        ((0, 89), (10, 89), 9.998485),
        ((355, 70), (5, 60), 9.101674),
        ((350, 60), (20, 65), 26.763851),
        ((10, 89), (170, 88), 159.994029),
    ],
)
def test_convergence_of_meridians(first, second, turn_deg):
    # tan(D/2) = tan(dRA/2) sin(mean) / cos(half difference), Napier's analogies (Todhunter 1886)
    onward = float(position_angle_deg(*second, *first)) + 180.0
    found = (onward - float(position_angle_deg(*first, *second)) + 180.0) % 360.0 - 180.0
    assert found == pytest.approx(turn_deg, abs=1e-6)


def test_neighbour_across_zero_hour():
    # 15 per cent overlap of 36 mm at 500 mm: due east by arctan(30.6 / 500)
    vector = plane_to_vector([30.6 / 500, 0.0], sky_basis(359.0, 40.0, 0.0))
    ra_deg, dec_deg = vector_to_sky(vector)
    assert (float(ra_deg), float(dec_deg)) == pytest.approx((3.567711, 39.910277), abs=1e-6)
    assert float(position_angle_deg(ra_deg, dec_deg, 359.0, 40.0)) == pytest.approx(272.934242, abs=1e-6)

import erfa
import numpy as np
import pytest
from astropy.wcs import WCS
from hypothesis import given
from hypothesis import strategies as st

from planner.geometry import (
    basis_position_angle_deg,
    plane_to_vector,
    separation_rad,
    sky_basis,
    sky_to_vector,
    vector_to_plane,
    vector_to_sky,
)
from tests.hard_fields import HARD_FIELDS


def test_plane_coordinates_of_the_sofa_test_program():
    # IAU SOFA test program t_sofa_c.c: iauTpxes; xi grows to the east, eta to the north
    star = sky_to_vector(*np.degrees([1.3, 1.55]))
    xi, eta = vector_to_plane(star, sky_basis(*np.degrees([2.3, 1.5]), 0.0))
    assert xi == pytest.approx(-0.01753200983236980595, abs=1e-15)
    assert eta == pytest.approx(0.05962940005778712891, abs=1e-15)


def test_sky_position_of_the_sofa_test_program():
    # IAU SOFA test program t_sofa_c.c: iauTpsts
    vector = plane_to_vector([-0.03, 0.07], sky_basis(*np.degrees([2.3, 1.5]), 0.0))
    ra, dec = np.radians(vector_to_sky(vector))
    assert ra == pytest.approx(0.7596127167359629775, abs=1e-13)
    assert dec == pytest.approx(1.540864645109263028, abs=1e-13)


def test_points_beyond_the_horizon_of_the_plane_have_no_image():
    basis = sky_basis(10.0, 20.0, 0.0)
    assert np.isnan(vector_to_plane(-basis[2], basis)).all()
    assert np.isnan(vector_to_plane(basis[0], basis)).all()


def test_tangent_projection_of_the_fits_standard():
    # Calabretta & Greisen 2002, A&A 395, 1077, header interpretation example 1
    basis = sky_basis(45.83, 63.57, 0.0)
    for pixel, sky in {
        (1, 2): (47.503264, 62.795111),
        (1, 512): (47.595581, 64.324332),
        (511, 512): (44.064419, 64.324332),
    }.items():
        xy = np.radians([(pixel[0] - 256) * -0.003, (pixel[1] - 257) * 0.003])
        ra_deg, dec_deg = vector_to_sky(plane_to_vector(xy, basis))
        assert (ra_deg, dec_deg) == (pytest.approx(sky[0], abs=1e-6), pytest.approx(sky[1], abs=1e-6))


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_round_trip(field):
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)
    xy = np.random.default_rng(1).uniform(-0.4, 0.4, (50, 2))
    assert np.abs(vector_to_plane(plane_to_vector(xy, basis), basis) - xy).max() < 1e-15


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_frames_are_orthonormal_and_keep_their_angle(field):
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)
    assert np.allclose(basis @ basis.T, np.eye(3), atol=1e-15)
    assert np.allclose(np.cross(basis[0], basis[1]), basis[2], atol=1e-15)  # left x up points to the sky
    difference = basis_position_angle_deg(basis) - field.position_angle_deg
    if abs(field.dec_deg) < 90:
        assert abs((difference + 180) % 360 - 180) < 1e-6


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_plane_agrees_with_astropy_wcs(field):
    angle = np.radians(field.position_angle_deg)
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = "RA---TAN", "DEC--TAN"
    wcs.wcs.crval = field.ra_deg, field.dec_deg
    wcs.wcs.crpix = 1.0, 1.0
    wcs.wcs.lonpole = 180.0
    # columns grow to the right (west at angle 0), rows upwards
    wcs.wcs.cd = 0.01 * np.array([[-np.cos(angle), np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    pixels = np.random.default_rng(2).uniform(-80, 80, (40, 2))
    expected = sky_to_vector(*wcs.all_pix2world(pixels, 0).T)
    xy = np.radians(0.01) * pixels * [-1, 1]
    found = plane_to_vector(xy, sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg))
    assert (
        np.degrees(separation_rad(found, expected)).max() * 3600 < 1e-6
    )  # arc seconds: both are exact formulas


@given(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.floats(0.0, 360.0), st.floats(-89.99, 89.99))
def test_plane_agrees_with_erfa(xi, eta, ra_deg, dec_deg):
    expected = sky_to_vector(*np.degrees(erfa.tpsts(xi, eta, *np.radians([ra_deg, dec_deg]))))
    assert separation_rad(plane_to_vector([xi, eta], sky_basis(ra_deg, dec_deg, 0.0)), expected) < 1e-12


@pytest.mark.parametrize(
    ("xi", "eta", "dec_deg", "turn_deg"),
    [
        (0.05, 0.0, 60, -4.949611),
        (0.05, 0.05, 60, -5.416230),
        (0.05, -0.02, 80, -14.288183),
        (-0.05, 0.02, 89, 92.913766),
        (0.03, 0.01, -45, 1.701355),
    ],
)
def test_direction_of_north_in_the_plane(xi, eta, dec_deg, turn_deg):
    # derived: the straight line to the pole's image (0, cot dec)
    basis = sky_basis(0.0, dec_deg, 0.0)
    here = plane_to_vector([xi, eta], basis)
    ra, dec = vector_to_sky(here)
    north = vector_to_plane(sky_to_vector(ra, dec + 1e-5), basis) - [xi, eta]
    # measured from +eta towards +xi, which is east
    assert np.degrees(np.arctan2(north[0], north[1])) == pytest.approx(turn_deg, abs=2e-4)

import erfa
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.geometry import (
    position_angle_deg,
    separation_rad,
    sky_to_vector,
    triangle_area_sr,
    vector_to_sky,
    wrapped_deg,
)

RA = st.floats(0.0, 360.0, exclude_max=True)
DEC = st.floats(-90.0, 90.0)


@given(RA, DEC)
def test_position_returns_from_its_vector(ra_deg, dec_deg):
    vector = sky_to_vector(ra_deg, dec_deg)
    assert separation_rad(vector, sky_to_vector(*vector_to_sky(vector))) < 1e-15
    assert 0.0 <= float(vector_to_sky(vector)[0]) < 360.0


def test_separation_of_arcturus_and_spica():
    # Meeus, Astronomical Algorithms (2nd ed.), example 17.a: 32.7930 degrees
    arcturus = sky_to_vector(15 * (14 + 15 / 60 + 39.7 / 3600), 19 + 10 / 60 + 57 / 3600)
    spica = sky_to_vector(15 * (13 + 25 / 60 + 11.6 / 3600), -(11 + 9 / 60 + 41 / 3600))
    assert np.degrees(separation_rad(arcturus, spica)) == pytest.approx(32.7930, abs=1e-4)


def test_separation_of_nearly_opposite_stars():
    # Meeus, chapter 17, exercise: Aldebaran and Antares, 169 degrees 58 minutes
    aldebaran = sky_to_vector(15 * (4 + 35 / 60 + 55.2 / 3600), 16 + 30 / 60 + 33 / 3600)
    antares = sky_to_vector(15 * (16 + 29 / 60 + 24 / 3600), -(26 + 25 / 60 + 55 / 3600))
    assert np.degrees(separation_rad(aldebaran, antares)) == pytest.approx(169.96237, abs=1e-4)


def test_separation_and_position_angle_of_the_sofa_test_program():
    # IAU SOFA test program t_sofa_c.c: iauSeps, iauPas
    a, b = np.degrees([1.0, 0.1]), np.degrees([0.2, -3.0])
    assert separation_rad(sky_to_vector(*a), sky_to_vector(*b)) == pytest.approx(
        2.346722016996998842, abs=1e-14
    )
    b = np.degrees([0.2, -1.0])
    angle = np.radians(position_angle_deg(a[0], a[1], b[0], b[1]))
    assert angle == pytest.approx(2 * np.pi - 2.724544922932270424, abs=1e-12)


def test_position_angle_of_arcturus_from_spica():
    # stars of Meeus 1998, example 17.a; angles by astropy, SkyCoord.position_angle
    spica = (15 * (13 + 25 / 60 + 11.6 / 3600), -(11 + 9 / 60 + 41 / 3600))
    arcturus = (15 * (14 + 15 / 60 + 39.7 / 3600), 19 + 10 / 60 + 57 / 3600)
    assert position_angle_deg(*spica, *arcturus) == pytest.approx(22.390408, abs=1e-6)
    assert position_angle_deg(*arcturus, *spica) == pytest.approx(203.308411, abs=1e-6)


def test_hipparcos_pairs():
    # Hipparcos, van Leeuwen 2007, A&A 474, 653 (positions read second-hand): Betelgeuse and Rigel
    betelgeuse = (15 * (5 + 55 / 60 + 10.30536 / 3600), 7 + 24 / 60 + 25.4304 / 3600)
    rigel = (15 * (5 + 14 / 60 + 32.27210 / 3600), -(8 + 12 / 60 + 5.8981 / 3600))
    apart = np.degrees(separation_rad(sky_to_vector(*betelgeuse), sky_to_vector(*rigel)))
    assert apart == pytest.approx(18.605961, abs=1e-5)
    assert position_angle_deg(*betelgeuse, *rigel) == pytest.approx(213.170619, abs=1e-5)


@given(RA, DEC, RA, DEC)
def test_position_angle_agrees_with_erfa(ra, dec, other_ra, other_dec):
    first, second = sky_to_vector(ra, dec), sky_to_vector(other_ra, other_dec)
    if not 1e-3 < separation_rad(first, second) < np.pi - 1e-3 or abs(dec) > 89.999:
        return  # no direction between equal or opposite points; at a pole erfa has another convention
    expected = np.degrees(erfa.pas(*np.radians([ra, dec, other_ra, other_dec]))) % 360
    difference = (position_angle_deg(ra, dec, other_ra, other_dec) - expected + 180) % 360 - 180
    assert abs(difference) < 1e-7


def test_area_of_the_octant():
    # Girard's theorem: three right angles make pi / 2
    axes = np.eye(3)
    assert triangle_area_sr(*axes) == pytest.approx(np.pi / 2, abs=1e-14)
    assert triangle_area_sr(*axes[::-1]) == pytest.approx(-np.pi / 2, abs=1e-14)
    assert np.degrees(np.degrees(np.pi / 2)) == pytest.approx(5156.620156, abs=1e-6)


@pytest.mark.parametrize("period_deg", [90.0, 180.0, 360.0])
def test_one_angle_is_brought_near_zero_as_many_are(period_deg):
    angles = np.concatenate([np.arange(-720.0, 721.0, 45.0), [1e-17, -1e-17, 89.99999999999999, -0.1, 1e9 / 7]])
    alone = [wrapped_deg(angle, period_deg) for angle in angles.tolist()]
    assert alone == wrapped_deg(angles, period_deg).tolist()
    assert {type(one) for one in alone} == {float}
    assert all(-period_deg / 2 <= one < period_deg / 2 for one in alone)

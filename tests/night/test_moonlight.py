"""Moonlight and airmass against the published formulas worked by hand."""

import numpy as np
import pytest

from planner.night.moonlight import (
    DARK_ZENITH_NL,
    airmass,
    dark_sky_nl,
    moonlight_mag,
    moonlight_nl,
    scattering_path,
)


def magnitude(nanolamberts):
    """Krisciunas & Schaefer 1991, their equation 1: nanolamberts to V magnitudes a square arc second."""
    return (20.7233 - np.log(nanolamberts / 34.08)) / 0.92104


def test_worked_case_of_the_moonlight_model():
    # Krisciunas & Schaefer 1991, PASP 103, 1033: Z 20, Moon's Z 70, rho 50, phase angle 45, k 0.15;
    # V 19.855 for the moonlight alone (their formulas worked by hand)
    assert scattering_path([70.0, 20.0]).tolist() == pytest.approx([1.061369, 2.562430], abs=1e-5)
    light = moonlight_nl(70.0, 20.0, 50.0, 45.0, extinction=0.15)
    assert light == pytest.approx(389.516, abs=0.5)
    assert magnitude(light) == pytest.approx(19.8548, abs=1e-3)


@pytest.mark.parametrize(("phase", "light", "change"), [(0.0, 1236.08, 2.9375), (90.0, 112.479, 0.8903)])
def test_full_and_half_moon_over_a_dark_site(phase, light, change):
    # the same formulas, Z 30, Moon's Z 60, rho 60, k 0.172, 79 nL at the zenith
    assert moonlight_nl(60.0, 30.0, 60.0, phase) == pytest.approx(light, rel=1e-4)
    assert dark_sky_nl(60.0) == pytest.approx(88.532, rel=1e-4)
    assert moonlight_mag(60.0, 30.0, 60.0, phase) == pytest.approx(change, abs=1e-3)


def test_the_dark_zenith_is_the_papers():
    assert dark_sky_nl(90.0) == pytest.approx(DARK_ZENITH_NL)
    assert magnitude(DARK_ZENITH_NL) == pytest.approx(21.587, abs=1e-3)


def test_a_moon_that_is_down_gives_no_light():
    assert moonlight_mag(60.0, [-0.1, 0.1], 60.0, 0.0).tolist()[0] == 0.0
    assert moonlight_mag(60.0, 0.1, 60.0, 0.0) > 0.0


def test_airmass_of_kasten_and_young():
    # Kasten & Young 1989, Applied Optics 28, 4735, equation 3 and their table: 1.99429 at 60 degrees from the
    # zenith, 5.58604 at 80, 37.91961 at 90
    assert airmass([30.0, 10.0, 0.0]).tolist() == pytest.approx([1.99429, 5.58604, 37.91961], abs=1e-5)
    assert airmass(90.0) == 1.0

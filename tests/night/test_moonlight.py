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


def test_airmass_at_the_true_horizon():
    """Young 1994, Applied Optics 33, 1108: 31.7 at a true zenith distance of 90 degrees, 1 at the zenith."""
    assert airmass(0.0) == pytest.approx(31.7, abs=0.05)
    assert airmass(90.0) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("altitude_deg", "within"),
    [(0.0, 0.007), (0.5, 0.004), (2.0, 0.003), (10.0, 3e-4), (20.0, 1e-3), (60.0, 1e-3)],
)
def test_airmass_against_an_older_formula_for_the_refracted_altitude(altitude_deg, within):
    """Kasten & Young 1989, Applied Optics 28, 4735, equation 3, wants the apparent altitude.

    It is made of the true one with the refraction of Saemundsson 1986, Sky and Telescope 72, 70 (Meeus 1998,
    equation 16.4, at 10 degrees Celsius and 1010 hPa); the two atmospheres differ by a few parts in a thousand.
    """
    minutes = 1.02 / np.tan(np.radians(altitude_deg + 10.3 / (altitude_deg + 5.11)))
    apparent = altitude_deg + minutes / 60.0
    older = 1.0 / (np.sin(np.radians(apparent)) + 0.50572 * (apparent + 6.07995) ** -1.6364)
    assert float(airmass(altitude_deg)) == pytest.approx(older, rel=within)
    assert (
        altitude_deg > 20.0 or abs(float(airmass(altitude_deg)) / _unrefracted(altitude_deg) - 1.0) > 1.5e-3
    )


def _unrefracted(altitude_deg):
    return 1.0 / (np.sin(np.radians(altitude_deg)) + 0.50572 * (altitude_deg + 6.07995) ** -1.6364)

"""Field rotation and differential turns, against published formulas and finite differences."""

import math
from dataclasses import replace

import erfa
import numpy as np
import pytest

from planner.errors import InputError
from planner.mosaic.panel import Panel
from planner.rig.convergence import polar_error, turns_against_deg
from planner.rig.effects import altaz_effect, effects, effects_words
from planner.rig.field_rotation import (
    SIDEREAL_DEG_PER_H,
    altaz_rotation_deg_per_h,
    corner_blur_px,
    longest_exposure_s,
    worst_altaz_rotation_deg_per_h,
)

from .hand_made import CAMERA, FIELD, grid_mosaic


def panel(ra, dec, angle=0.0):
    return Panel("A1", 1, 1, 1, ra, dec, angle)


@pytest.mark.parametrize(
    ("latitude", "hour", "dec", "rate"),
    [(40.0, -30.0, 20.0, 10.41227), (40.0, 45.0, 60.0, -15.94206), (-33.0, 20.0, -60.0, 23.68560)],
)
def test_rate_at_worked_places(latitude, hour, dec, rate):
    """dq/dH = -cos(lat) cos(A) / cos(h), derivative of Meeus, Astronomical Algorithms (1998), eq. 14.1."""
    assert float(altaz_rotation_deg_per_h(latitude, hour, dec)) == pytest.approx(rate, abs=5e-6)


def test_rate_at_60_degrees_altitude_due_south():
    dec = 40.0 - 30.0  # transit at altitude 60 for latitude 40
    assert float(altaz_rotation_deg_per_h(40.0, 0.0, dec)) == pytest.approx(23.04425, abs=5e-6)


def test_rate_is_the_derivative_of_the_parallactic_angle():
    """Against finite differences of the SOFA routine HD2PA."""
    rng = np.random.default_rng(5)
    for lat, hour, dec in zip(
        rng.uniform(-80, 80, 50), rng.uniform(-170, 170, 50), rng.uniform(-80, 80, 50), strict=True
    ):
        step = 1e-4
        ends = [erfa.hd2pa(*np.radians([hour + d, dec, lat])) for d in (step, -step)]
        slope = np.degrees(math.remainder(ends[0] - ends[1], 2 * math.pi)) / (2 * step)
        found = float(altaz_rotation_deg_per_h(lat, hour, dec))
        assert found == pytest.approx(slope * SIDEREAL_DEG_PER_H, rel=1e-5, abs=1e-5)


def test_worst_rate_is_at_transit_and_infinite_through_the_zenith():
    assert worst_altaz_rotation_deg_per_h(40.0, 10.0, 30.0) == pytest.approx(23.04425, abs=1e-5)
    assert worst_altaz_rotation_deg_per_h(40.0, 40.0, 30.0) == math.inf
    assert worst_altaz_rotation_deg_per_h(40.0, -60.0, 30.0) == 0.0  # never up


def test_blur_and_longest_exposure_are_inverse():
    size = (6000, 4000)
    seconds = longest_exposure_s(15.0, size, blur_px=1.0)
    assert corner_blur_px(15.0 * seconds / 3600.0, size) == pytest.approx(1.0, rel=1e-9)
    # small angles: half the diagonal times the turn
    assert seconds == pytest.approx(3600 / 15.0 * math.degrees(2 / math.hypot(*size)), rel=1e-6)
    assert longest_exposure_s(0.0, size) == math.inf
    with pytest.raises(InputError, match="above 0 pixels"):
        longest_exposure_s(1.0, size, blur_px=0.0)


@pytest.mark.parametrize(
    ("first", "second", "turn"),
    [
        ((0, 30), (10, 30), 5.009537),
        ((0, 60), (10, 60), 8.665748),
        ((0, -60), (10, -60), -8.665748),
        ((0, 80), (10, 80), 9.848830),
        ((355, 70), (5, 60), 9.101674),
        ((350, 60), (20, 65), 26.763851),
        ((10, 89), (170, 88), 159.994029),
    ],
)
def test_convergence_between_two_panels(first, second, turn):
    """tan(D/2) = tan(dRA/2) sin((d1+d2)/2) / cos((d1-d2)/2), from Napier's analogies.

    Both panels stand at the middle of their own picture here, whose up is square with the great circle from
    the first to the second; the panels share one position angle, so their turns differ by the convergence.
    """
    a, b = np.radians(first), np.radians(second)
    along = [float(np.degrees(erfa.pas(*a, *b))), float(np.degrees(erfa.pas(*b, *a))) + 180.0]
    turns = [
        float(turns_against_deg([panel(*place)], *place, angle - 90.0)[0])
        for place, angle in zip((first, second), along, strict=True)
    ]
    difference = (turns[0] - turns[1] + 180.0) % 360.0 - 180.0
    assert difference == pytest.approx(turn, abs=1e-6)


def test_panels_square_with_the_picture_are_not_turned():
    from planner.geometry import sky_to_vector
    from planner.mosaic.orientation import Orientation

    square = Orientation.square_with(200.0, 70.0, 25.0)
    places = [(200.0, 70.0), (215.0, 72.0), (190.0, 66.0)]
    angles = square.position_angles_deg(sky_to_vector(*np.array(places).T))
    panels = [panel(*place, float(angle)) for place, angle in zip(places, angles, strict=True)]
    assert turns_against_deg(panels, 200.0, 70.0, 25.0) == pytest.approx(0.0, abs=1e-9)
    common = [panel(*place, 25.0) for place in places]
    assert np.abs(turns_against_deg(common, 200.0, 70.0, 25.0)).max() > 5.0


def test_polar_error_against_its_small_angle_formula():
    """Turn = e sin(h) / cos(dec) for a small error e at hour angle h: field rotation of a misaligned mount.

    It is the sine rule in the triangle of both poles and the star (Todhunter, Spherical Trigonometry, 1886); the
    routine turns the pole exactly and must agree for small errors.
    """
    error = 1.0 / 60.0
    one = polar_error([panel(0.0, 60.0)], 1.0)
    assert one.turn_deg == pytest.approx(2 * error / math.cos(math.radians(60.0)), rel=1e-3)
    assert one.spread_deg == 0.0
    rate = error / math.cos(math.radians(60.0)) * math.radians(SIDEREAL_DEG_PER_H)
    assert one.rate_deg_per_h == pytest.approx(rate, rel=1e-3)
    two = polar_error([panel(0.0, 60.0), panel(10.0, 60.0)], 1.0)
    chord = 2 * math.sin(math.radians(5.0))
    assert two.spread_deg == pytest.approx(error / math.cos(math.radians(60.0)) * chord, rel=1e-3)
    south = polar_error([panel(0.0, -60.0), panel(10.0, -60.0)], 1.0)
    assert south.spread_deg == pytest.approx(two.spread_deg, rel=1e-2)


def test_polar_error_near_the_pole_is_large():
    assert polar_error([panel(0.0, 89.95), panel(180.0, 89.95)], 5.0).spread_deg > 90.0


def words_of(mosaic, *, mount, device, exposure_s=None, latitude=None):
    found = None
    if latitude is not None:
        found = altaz_effect(
            mosaic.panels, CAMERA, latitude_deg=latitude, lowest_altitude_deg=30.0, exposure_s=exposure_s
        )
    picture = (128.0, -20.0, 20.0)
    all_effects = effects(mosaic.panels, FIELD, CAMERA, picture=picture, exposure_s=exposure_s, altaz=found)
    return " ".join(effects_words(all_effects, mount_kind=mount, device_kind=device))


def test_a_panel_of_its_own_angle_is_no_convergence():
    """At declination -60 a quarter turn of one panel is told as its own; the others keep what meridians do."""
    four = grid_mosaic(2, 2, center=(128.0, -60.0)).panels
    picture = (128.0, -60.0, 20.0)
    turned = [*four[:3], replace(four[3], name="Z1", position_angle_deg=103.0)]
    before, found = (effects(one, FIELD, CAMERA, picture=picture) for one in (four, turned))
    (own,) = found.own
    assert not before.own and 0.5 < found.against_picture_deg <= before.against_picture_deg < 10.0
    assert own.names == ("Z1",) and own.against_picture_deg == pytest.approx(83.0, abs=4.0)
    words = effects_words(found, mount_kind="german", device_kind=None)
    assert any("Panel Z1 stands at a position angle of its own, 103.0°, the picture at 20.0°" in one for one in words)
    assert not any("Meridians converge" in one and "83" in one for one in words)


def test_a_picture_at_another_angle_is_no_convergence():
    four = grid_mosaic(2, 2, center=(128.0, 0.0), angle=70.0).panels
    (words,) = effects_words(
        effects(four, FIELD, CAMERA, picture=(128.0, 0.0, 0.0)), mount_kind="german", device_kind=None
    )
    assert words.startswith("All panels stand at position angle 70.0°, the picture at 0.0°")


def test_words_on_alt_azimuth_mounts():
    mosaic = grid_mosaic(2, 2)
    assert "must follow the field" in words_of(mosaic, mount="altaz", device="rotator", latitude=40.0)
    told = words_of(mosaic, mount="altaz", device="adjuster", exposure_s=60.0, latitude=40.0)
    assert "only a rotator" in told and "the longest planned" in told
    assert "give [site]" in words_of(mosaic, mount="altaz", device=None)
    assert "alt-azimuth" not in words_of(mosaic, mount="german", device="rotator", exposure_s=60.0)


def test_longest_exposure_of_a_plan_is_at_its_worst_panel():
    mosaic = grid_mosaic(2, 2, center=(128.0, 20.0))
    found = altaz_effect(mosaic.panels, CAMERA, latitude_deg=40.0, lowest_altitude_deg=30.0, exposure_s=30.0)
    rates = [worst_altaz_rotation_deg_per_h(40.0, p.dec_deg, 30.0) for p in mosaic.panels]
    assert found.rate_deg_per_h == max(rates)
    assert found.longest_exposure_s == pytest.approx(longest_exposure_s(max(rates), CAMERA.binned_px))
    assert found.blur_px == pytest.approx(corner_blur_px(max(rates) * 30 / 3600, CAMERA.binned_px))

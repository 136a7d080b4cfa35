"""Angle errors that a plan forgives, against brute force and worked cases."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from planner.geometry import plane_to_vector, sky_basis, vector_to_plane
from planner.mosaic.panel import Field
from planner.mosaic.region import Region
from planner.rig.plan_tolerances import measure_tolerances
from planner.rig.tolerance import CAP_DEG, angle_tolerance, forgives, gap_at_turn_deg2, picture_tolerance

from .hand_made import FIELD, grid_mosaic


def points_of(region, spacing):
    """A lattice of unit vectors inside a region, its corners included."""
    low_x, low_y, high_x, high_y = region.polygon.bounds
    xy = np.stack(np.meshgrid(np.arange(low_x, high_x, spacing), np.arange(low_y, high_y, spacing)), -1)
    xy = xy.reshape(-1, 2)
    inside = xy[shapely.contains_xy(region.polygon, xy)]
    return np.concatenate([plane_to_vector(inside, region.basis), region.outline_vectors])


def covered(mosaic, turns_deg, points):
    """Whether panels turned by some angles hold all points; an independent route by plain inequalities."""
    found = np.zeros(len(points), dtype=bool)
    for panel, turn in zip(mosaic.panels, turns_deg, strict=True):
        basis = sky_basis(panel.ra_deg, panel.dec_deg, panel.position_angle_deg + turn)
        x, y = vector_to_plane(points, basis).T
        found |= (np.abs(x) <= mosaic.field.half_width + 1e-9) & (
            np.abs(y) <= mosaic.field.half_height + 1e-9
        )
    return bool(found.all())


def test_one_panel_over_a_square_in_its_middle():
    """By hand: a square of side s holds in a turned panel of height h up to sin(t) + cos(t) = h / s."""
    field, side = Field(4.0, 2.0), 1.72
    one = replace(
        grid_mosaic(1, 1, field=field, angle=0.0), region=Region.rectangle((128.0, -20.0), side, side)
    )
    half, reach = math.tan(math.radians(side / 2)), field.half_height
    turn = math.degrees(math.asin(reach / (half * math.sqrt(2))) - math.pi / 4)
    found = angle_tolerance(one)
    assert found.together_deg == pytest.approx(turn, abs=0.02) and found.together_deg <= turn
    assert found.singly_deg == pytest.approx(turn, abs=0.1) and found.singly_deg <= turn


@pytest.mark.parametrize(("columns", "rows", "center"), [(2, 2, (128.0, -20.0)), (3, 2, (10.0, 75.0))])
def test_brute_force_agrees(columns, rows, center):
    mosaic = grid_mosaic(columns, rows, center=center, fill=0.85)
    points = points_of(mosaic.region, FIELD.half_height / 40)
    found = angle_tolerance(mosaic)
    count = len(mosaic.panels)
    for turn in np.linspace(-found.together_deg, found.together_deg, 25):
        assert covered(mosaic, [turn] * count, points)
    beyond = [found.together_deg + 0.1, -found.together_deg - 0.1]
    assert any(gap_at_turn_deg2(mosaic, turn) > 0 for turn in beyond)
    rng = np.random.default_rng(3)
    for _ in range(60):
        assert covered(mosaic, found.singly_deg * rng.choice([-1.0, 1.0], count), points)
    assert found.singly_deg <= found.together_deg


def test_overlap_costs_tolerance_and_so_does_pointing():
    mosaic = grid_mosaic(2, 2)
    plain = angle_tolerance(mosaic)
    box = (0.05 * FIELD.half_width, 0.05 * FIELD.half_height)
    boxed, shifted = angle_tolerance(mosaic, box=box), angle_tolerance(mosaic, shift_rad=math.radians(0.05))
    for harder in (boxed, shifted):
        assert harder.together_deg < plain.together_deg
        assert harder.singly_deg < plain.singly_deg


def test_one_error_alone_is_proven_as_all_are():
    mosaic = grid_mosaic(2, 2, center=(10.0, 75.0), fill=0.85)
    singly = angle_tolerance(mosaic).singly_deg
    assert forgives(mosaic, 0.0) and forgives(mosaic, singly - 0.01) and not forgives(mosaic, singly + 0.02)
    shifted = angle_tolerance(mosaic, shift_rad=math.radians(2 / 60)).singly_deg
    assert shifted < singly - 0.05
    assert forgives(mosaic, shifted - 0.01, shift_arcmin=2.0)
    assert not forgives(mosaic, shifted + 0.02, shift_arcmin=2.0)


def test_a_plan_with_a_gap_forgives_nothing():
    assert angle_tolerance(grid_mosaic(2, 2, fill=1.05)) is None


def test_larger_errors_than_the_cap_are_not_looked_for():
    small = replace(grid_mosaic(1, 1), region=Region.circle((128.0, -20.0), 0.3))
    assert angle_tolerance(small).singly_deg == CAP_DEG


def test_picture_larger_than_the_region():
    mosaic = grid_mosaic(2, 2, fill=0.7)
    picture = Region.rectangle((128.0, -20.0), 5.2, 3.6, 20.0)
    held = picture_tolerance(mosaic, picture)
    assert 0 < held.together_deg < angle_tolerance(mosaic).together_deg
    assert picture_tolerance(mosaic, Region.rectangle((128.0, -20.0), 9.0, 9.0, 20.0)) is None


def test_very_many_panels_are_not_measured():
    mosaic = grid_mosaic(1, 1)
    many = replace(mosaic, panels=mosaic.panels * 2001)
    assert not measure_tolerances(many).measured and measure_tolerances(mosaic).measured


def test_pointing_error_that_the_plan_cannot_bear_is_left_out():
    mosaic = grid_mosaic(2, 2)
    with_shift, without = measure_tolerances(mosaic, shift_arcmin=3.0), measure_tolerances(mosaic)
    assert with_shift.shift_arcmin == 3.0
    assert with_shift.gap.singly_deg < without.gap.singly_deg
    hopeless = measure_tolerances(mosaic, shift_arcmin=60.0)
    assert (hopeless.shift_arcmin, hopeless.gap) == (0.0, without.gap)

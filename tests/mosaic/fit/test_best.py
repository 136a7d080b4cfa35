"""The best placement of a field against fields tried one by one, closed forms and its own bound."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.errors import InputError
from planner.geometry import plane_to_vector, sky_basis, sky_to_vector
from planner.mosaic.fit import (
    Opening,
    Shape,
    angles_with_room,
    best_placement,
    placement_at,
    placements_at,
    room_bound,
    room_curve,
)
from planner.mosaic.fit.curve import best_rooms
from planner.mosaic.panel import Field
from tests.hard_fields import HARD_FIELDS, HardField

from .sets import about, margins_at, opening_of, strewn, tried

ARCMIN = math.radians(1 / 60)
EXACT = 1e-9
"""Radians: 0.2 milliarcseconds, where searches end."""


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("seed", [1, 2])
def test_nothing_beats_the_best(field: HardField, seed: int) -> None:
    corners, opening = about(field, seed), opening_of(field)
    best = best_placement(Shape.around([corners]), opening)
    sides = margins_at(corners, opening, best.center_deg, best.position_angle_deg)
    assert best.rooms == pytest.approx(sides, abs=EXACT)
    assert best.room == pytest.approx(min(sides), abs=EXACT)
    others = strewn(best, seed, 6000, opening.half[1])
    assert tried(corners, opening, *others).max() <= best.room + EXACT


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_bound_is_proven_close(field: HardField) -> None:
    corners, opening = about(field, 3), opening_of(field)
    shape = Shape.around([corners])
    best = best_placement(shape, opening)
    close = 1e-4 * opening.half[1]
    bound = room_bound(shape, opening, best.room, close=close, most_boxes=60_000)
    assert best.room <= bound <= best.room + close
    centers, angles = strewn(best, 3, 3000, opening.half[0])
    assert tried(corners, opening, centers, angles).max() <= bound


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("arcs", [[(0.3, 0.0)], [(3.0, 0.4), (1.0, 0.1)]])
def test_bound_of_some_angles(field: HardField, arcs: list[tuple[float, float]]) -> None:
    corners, opening = about(field, 3), opening_of(field)
    shape = Shape.around([corners])
    best = best_placement(shape, opening, arcs)
    bound = room_bound(shape, opening, best.room, close=1e-4 * opening.half[1], most_boxes=6000, arcs=arcs)
    everywhere = best_placement(shape, opening)
    assert best.room <= bound <= everywhere.room + 1e-3 * opening.half[1] or bound <= 1.1 * everywhere.room
    worse = room_bound(
        shape, opening, best.room - 0.1 * opening.half[1], close=1e-3, most_boxes=6000, arcs=arcs
    )
    assert worse >= best.room
    for start, span in arcs:
        centers, _ = strewn(best, 3, 3000, opening.half[1])
        angles = np.degrees(start + span * np.random.default_rng(1).random(len(centers)))
        assert tried(corners, opening, centers, angles).max() <= bound


def test_bound_tells_of_a_worse_placement() -> None:
    field = HARD_FIELDS[0]
    shape, opening = Shape.around([about(field, 3)]), opening_of(field)
    best = best_placement(shape, opening).room
    worse = room_bound(shape, opening, best - ARCMIN, close=0.01 * ARCMIN, most_boxes=20_000)
    assert worse >= best


def test_every_angle_and_centre_of_a_small_field() -> None:
    """Every 0.1 degrees (0.02 about the best) and 0.1 arc minutes, over all that can hold the set."""
    opening = Opening.margins(Field(3 / 60, 2 / 60))
    random = np.random.default_rng(4)
    basis = sky_basis(40.0, 62.0, 0.0)
    corners = plane_to_vector(random.uniform(-1, 1, (5, 2)) * [0.9 * ARCMIN, 0.6 * ARCMIN], basis)
    best = best_placement(Shape.around([corners]), opening)
    steps = 0.1 * ARCMIN * np.arange(-9, 10)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    centers = plane_to_vector(grid, basis)
    near = best.position_angle_deg + np.arange(-1, 1, 0.02)
    highest = -1.0
    for angles in np.concatenate([np.arange(0, 180, 0.1), near]).reshape(19, 100):
        many, turned = np.tile(centers, (100, 1)), np.repeat(angles, len(centers))
        highest = max(highest, float(tried(corners, opening, many, turned).max()))
    assert highest <= best.room + EXACT
    assert highest >= best.room - 0.08 * ARCMIN


@pytest.mark.parametrize("apart_deg", [1.0, 2.6, 3.9])
@pytest.mark.parametrize("place", [(10.0, 0.0), (0.0, 89.5), (359.9, -45.0)])
def test_two_points_stand_across_the_corners(place: tuple[float, float], apart_deg: float) -> None:
    """x^2 + y^2 = tan^2(half way), W - x = H - y: the least margin of two points about the centre.

    To 6 milliarcseconds: the angle is found to 0.00002 degrees.
    """
    opening = Opening.margins(Field(3.3, 2.2))
    (width, height), half = opening.half, math.tan(math.radians(apart_deg) / 2)
    pair = plane_to_vector([[half, 0.0], [-half, 0.0]], sky_basis(*place, 33.0))
    best = best_placement(Shape.around([pair]), opening)
    lean = width - height
    x = max((lean + math.sqrt(max(0.0, 2 * half**2 - lean**2))) / 2, half if half < lean else 0.0)
    assert best.room == pytest.approx(min(width - x, height), abs=3e-8 if half > lean else 2e-4)


def test_a_square_about_a_disc() -> None:
    opening = Opening.margins(Field(2.0, 2.0))
    rim = 2 * np.pi * np.arange(720) / 720
    for radius_deg in (0.9, 1.0, 1.2):
        radius = math.tan(math.radians(radius_deg))
        ring = plane_to_vector(radius * np.stack([np.cos(rim), np.sin(rim)], -1), sky_basis(30, -70, 0))
        best = best_placement(Shape.around([ring]), opening)
        assert best.room == pytest.approx(opening.half[0] - radius, abs=1e-5 * radius)
        stretches = angles_with_room(Shape.around([ring]), opening, -1e-5 * radius)
        assert stretches == (((0.0, 180.0),) if radius_deg <= 1.0 else ())


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_angles_with_room(field: HardField) -> None:
    corners, opening = about(field, 5), opening_of(field)
    shape = Shape.around([corners])
    best = best_placement(shape, opening)
    least = 0.8 * best.room
    stretches = angles_with_room(shape, opening, least, (math.radians(best.position_angle_deg),))
    assert any((best.position_angle_deg - start) % 180 <= stop - start for start, stop in stretches)
    angles = np.arange(0.0, 180.0, 5.0)
    rooms = best_rooms(shape, opening, np.radians(angles)).room
    inside = [any((a - start) % 180 <= stop - start for start, stop in stretches) for a in angles]
    assert inside == (rooms >= least).tolist()
    for angle in {end for stretch in stretches if stretch != (0.0, 180.0) for end in stretch}:
        assert placement_at(shape, opening, math.radians(angle)).room == pytest.approx(least, abs=1e-7)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_no_centre_is_better_at_an_angle(field: HardField) -> None:
    corners, opening = about(field, 6), opening_of(field)
    shape = Shape.around([corners])
    for angle_deg in (0.0, 77.0):
        found = placement_at(shape, opening, math.radians(angle_deg))
        centers, _ = strewn(found, 6, 4000, opening.half[1])
        assert tried(corners, opening, centers, np.full(len(centers), angle_deg)).max() <= found.room + 1e-8


def test_scale_that_would_just_do() -> None:
    field = Field(3.3, 2.2)
    shape = Shape.around([about(HARD_FIELDS[0], 7, size=1.6)])
    room = best_placement(shape, Opening.scales(field)).room
    assert room < 0
    half = (1 - room) * np.array(Opening.margins(field).half)
    assert best_placement(shape, Opening((half[0], half[1]))).room == pytest.approx(0.0, abs=1e-8)


def test_only_allowed_angles() -> None:
    shape, opening = Shape.around([about(HARD_FIELDS[0], 8)]), opening_of(HARD_FIELDS[0])
    arcs = [(math.radians(170.0), math.radians(15.0)), (math.radians(60.0), 0.0)]
    found = best_placement(shape, opening, arcs)
    angles = [*np.radians(np.linspace(170, 185, 301)), math.radians(60)]
    assert found.room >= best_rooms(shape, opening, np.array(angles)).room.max() - 1e-12
    assert (found.position_angle_deg - 170) % 180 <= 15 + 1e-9 or found.position_angle_deg == pytest.approx(
        60
    )


def test_too_far_apart_is_refused() -> None:
    with pytest.raises(InputError, match=r"65 degrees .* leave out"):
        Shape.around([sky_to_vector([0.0, 130.0], [0.0, 0.0])]).basis  # noqa: B018
    with pytest.raises(InputError, match="nothing to fit"):
        Shape(np.zeros((0, 3)))


def test_many_shapes_at_once_are_placed_as_each_alone() -> None:
    opening = Opening.margins(Field(3.3, 2.2))
    shapes = [
        Shape.around([about(field, seed, size=0.4, count=4 + seed)])
        for field in HARD_FIELDS
        if field.name not in ("wide", "wide_over_pole")
        for seed in (1, 20)
    ]
    together = placements_at(shapes, opening, 0.7)
    for shape, found in zip(shapes, together, strict=True):
        alone = placement_at(shape, opening, 0.7)
        assert found.room == pytest.approx(alone.room, abs=3e-8)  # radians: 6 milliarcseconds


@pytest.mark.parametrize("size", [0.05, 0.5, 2.5])
def test_what_is_told_at_once_is_true(size: float) -> None:
    field = HARD_FIELDS[0]
    shape, opening = Shape.around([about(field, 11, size=size)]), opening_of(field)
    least = 0.2 * opening.half[1]
    told, found = angles_with_room(shape, opening, least), room_curve(shape, opening, least).stretches_deg
    assert np.array(told) == pytest.approx(np.array(found), abs=1e-6)

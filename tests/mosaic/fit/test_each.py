"""Many shapes at once, at every troublesome place: shapes, best placements, angles as each alone has them."""

import math

import numpy as np
import pytest

from planner.geometry import sky_to_vector
from planner.mosaic.fit import Opening, Shape, angles_with_room, best_placement
from planner.mosaic.fit.curve import best_rooms
from planner.mosaic.fit.each_angles import angles_of_each
from planner.mosaic.fit.each_best import best_of_each
from planner.mosaic.fit.shapes import shapes_around
from planner.mosaic.panel import Field
from tests.hard_fields import HARD_FIELDS

from .sets import about

PLACES = [field for field in HARD_FIELDS if not field.name.startswith("wide")]
OPENING = Opening.margins(Field(3.3, 2.2))
CLOSE_RAD = 1.5e-6
"""0.005 arc minutes: what a climb from the plane's tops may fall short of the best, for sets as wide as the field."""


def corners(field, seed, size):
    """Corners about a place, in the size of the one opening for all places."""
    scale = size * OPENING.half[0] / math.tan(math.radians(field.width_deg / 2))
    return about(field, seed, size=scale, count=9)


def shapes(size, seeds=(1, 2)):
    return [Shape.around([corners(field, seed, size)]) for field in PLACES for seed in seeds]


def test_shapes_are_those_of_each_alone():
    rings = [[corners(field, seed, 0.7)] for field in HARD_FIELDS for seed in (1, 2)]
    point, line = sky_to_vector([10.0], [20.0]), sky_to_vector([10.0, 11.0], [20.0, 20.0])
    far = sky_to_vector([0.0, 180.0, 90.0], [0.0, 0.0, 80.0])
    found = shapes_around([*rings, [point], [line], [point, line], [far]])
    assert found[-1] is None
    each = [Shape.around(ring) for ring in [*rings, [point], [line], [point, line]]]
    for one, alone in zip(found[:-1], each, strict=True):
        assert len(one.corners) == len(alone.corners)
        apart = np.linalg.norm(one.corners[:, None] - alone.corners, axis=2)
        assert apart.min(axis=1).max() < 1e-12
        assert one.radius_rad == pytest.approx(alone.radius_rad, abs=1e-7)  # of an arc cosine next to 0
        assert one.basis[2] == pytest.approx(alone.basis[2], abs=1e-9)
    assert shapes_around([]) == ()


ARCS = [(math.radians(20), math.radians(30)), (math.radians(110), math.radians(1))]


@pytest.mark.parametrize(("size", "arcs"), [(0.3, None), (0.8, None), (0.8, ARCS)])
def test_best_placements_are_those_of_each_alone(size, arcs):
    some = shapes(size, seeds=(3,))[:: 1 if arcs is None else 3]
    for shape, found in zip(some, best_of_each(some, OPENING, arcs), strict=True):
        alone = best_placement(shape, OPENING, arcs)
        near_pole = arcs is not None and abs(shape.basis[2, 2]) > 0.999
        assert (
            alone.room - (1e-4 if near_pole else CLOSE_RAD) <= found.placement.room <= alone.room + CLOSE_RAD
        )
        assert found.least - 1e-12 <= found.placement.room <= found.most
        if arcs is not None:
            ahead = [math.degrees(start) for start, _ in arcs]
            spans = [math.degrees(span) for _, span in arcs]
            angle = found.placement.position_angle_deg
            assert any((angle - a + 1e-6) % 180 <= s + 2e-6 for a, s in zip(ahead, spans, strict=True))


LEAST = 0.1 * OPENING.half[1]


def held(stretches, angles_deg):
    """Whether angles lie on stretches."""
    return np.array([any((angle - a) % 180 <= b - a for a, b in stretches) for angle in angles_deg])


def agree(shape, stretches, angles_deg):
    """Whether stretches hold those angles at which some centre leaves the room."""
    room = best_rooms(shape, OPENING, np.radians(angles_deg)).room
    sure = np.abs(room - LEAST) > 1e-6
    return (held(stretches, angles_deg) == (room >= LEAST))[sure].all()


def test_angles_at_every_place():
    some = shapes(0.8, seeds=(1,))[::2]
    found = angles_of_each(some, OPENING, LEAST, best_of_each(some, OPENING))
    angles = np.random.default_rng(0).uniform(0, 180, 8)
    assert all(agree(shape, one, angles) for shape, one in zip(some, found, strict=True))
    assert any(one not in ((), ((0.0, 180.0),)) for one in found)


def test_angles_by_brute_force():
    """Every tenth of a degree, by the one-angle search alone."""
    some = shapes(0.75, seeds=(5,))[:4]
    angles = np.arange(0.0, 180.0, 0.1)
    for shape, found in zip(
        some, angles_of_each(some, OPENING, LEAST, best_of_each(some, OPENING)), strict=True
    ):
        assert agree(shape, found, angles)
        alone = angles_with_room(shape, OPENING, LEAST)
        assert np.array(found) == pytest.approx(np.array(alone), abs=1e-4)  # 0.6 milliarcseconds of room

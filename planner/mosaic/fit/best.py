"""The best placement of one field: centre and position angle that leave the most room at its sides."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import basis_position_angle_deg, sky_basis, vector_to_sky

from .centers import best_centers
from .curve import best_rooms, reach_of, right_ascension_on_pole
from .opening import Opening
from .shape import Shape
from .sides import Sides, sides_of

__all__ = ["Placement", "best_placement", "evened", "placement_at", "placement_near", "placement_of"]

Array = NDArray[np.float64]
Find = Callable[[Array, "Array | None"], Sides]
"""Places fields at angles, beginning at centres where some are known."""
Arc = tuple[float, float]
"""First position angle and span, radians; a span of 0 is a single angle."""

STEP_RAD = math.radians(1.0)
"""Angles are tried so closely first; every top among them that could be the highest is climbed."""
MOST_TOPS = 16
ROUNDS = 8
"""A quarter of the step before each: the last is 0.00002 degrees."""
AROUND = np.array([0.0, -0.75, -0.5, -0.25, 0.25, 0.5, 0.75])
EVEN_LOSS = 3e-6
"""Radians (0.01 arc minutes) that a field may lose for being in the middle."""
HALF_TURN = math.pi
ON_POLE = 1e-9


@dataclass(frozen=True)
class Placement:
    """A field on the sky and the room at its sides.

    Parameters
    ----------
    center_deg : (float, float)
        ICRS.
    position_angle_deg : float
        Of the field's up at its centre, degrees east of north, [0, 180).
    room : float
        The least of the rooms, in the opening's unit: margin in radians, or 1 less the scale.
    rooms : (float, float, float, float)
        At the left (east at angle 0), right, top and bottom.
    """

    center_deg: tuple[float, float]
    position_angle_deg: float
    room: float
    rooms: tuple[float, float, float, float]


def best_placement(
    shape: Shape, opening: Opening, arcs: Sequence[Arc] | None = None, *, rounds: int = ROUNDS
) -> Placement:
    """Return the placement that leaves the most room, over all centres and angles.

    Parameters
    ----------
    shape : Shape
    opening : Opening
    arcs : sequence of (float, float), optional
        Position angles allowed, modulo half a turn; all of them where left out.
    rounds : int
        How often the step of a degree is quartered.
    """
    if arcs is None:
        return _best_anywhere(shape, opening, rounds)
    found = [_best_on_arc(shape, opening, arc, rounds) for arc in arcs]
    return placement_of(found[int(np.argmax([one.room[0] for one in found]))])


def placement_at(shape: Shape, opening: Opening, angle_rad: float) -> Placement:
    """Return the best placement at one position angle."""
    return placement_of(best_rooms(shape, opening, np.array([angle_rad])))


def placement_of(placed: Sides, index: int = 0) -> Placement:
    """Return one field as a value, its angle within half a turn."""
    center, axes, angle = placed.centers[index], placed.axes[index], float(placed.angles_rad[index])
    ra_deg, dec_deg = (float(value) for value in vector_to_sky(center))
    left, right, top, bottom = (float(room) for room in placed.rooms[index])
    if math.hypot(center[0], center[1]) < ON_POLE:
        ra_deg, dec_deg = right_ascension_on_pole(axes, center, angle), math.copysign(90.0, dec_deg)
    if math.degrees(angle) % 360.0 % 360.0 >= 180.0:
        left, right, top, bottom = right, left, bottom, top
    within = math.degrees(angle) % 180.0 % 180.0
    return Placement((ra_deg, dec_deg), within, min(left, right, top, bottom), (left, right, top, bottom))


def evened(shape: Shape, opening: Opening, placement: Placement, *, loss: float = EVEN_LOSS) -> Placement:
    """Return the placement moved until opposite sides have equal room, as far as that costs next to nothing.

    Two sides hold a field; along them it may move. It keeps its direction on the sky, so that its position angle
    changes by the convergence of meridians.

    Parameters
    ----------
    shape : Shape
    opening : Opening
    placement : Placement
    loss : float
        Room that may be given up.
    """
    left, right, top, bottom = placement.rooms
    steps = np.array([right - left, bottom - top]) / 2 * opening.units[::2]
    basis = sky_basis(*placement.center_deg, placement.position_angle_deg)
    for share in 0.5 ** np.arange(8):
        out = basis[2] + share * steps @ basis[:2]
        out /= np.linalg.norm(out)
        across = basis[0] - (basis[0] @ out) * out
        across /= np.linalg.norm(across)
        moved = np.stack([across, np.cross(out, across), out])
        angle = np.radians(basis_position_angle_deg(moved))
        placed = sides_of(shape.corners, opening, out[None], np.array([angle]))
        if placed.room[0] >= placement.room - loss:
            return placement_of(placed)
    return placement


def _best_anywhere(shape: Shape, opening: Opening, rounds: int) -> Placement:
    """Search in the shape's own system, where no pole is near, and name the place found in ICRS."""
    angles, reach = np.arange(0.0, HALF_TURN, STEP_RAD), reach_of(shape, opening)
    find = _finder(shape.corners @ shape.rotation.T, opening, reach)
    return _in_icrs(
        _climbed(find, _tops(find(angles, None), STEP_RAD, cyclic=True), STEP_RAD, None, rounds),
        shape.rotation,
    )


def placement_near(
    corners: Array, opening: Opening, basis: Array, angles_rad: Array, *, reach: float, rounds: int = ROUNDS
) -> Placement:
    """Return the best placement near some angles, with its centre within reach of a place or next to it.

    Parameters
    ----------
    corners : ndarray, shape (N, 3)
    opening : Opening
    basis : ndarray, shape (3, 3)
        Of a tangent plane at that place, position angle 0.
    angles_rad : ndarray, shape (K,)
        In that plane, closer to each other than a degree where they are near the best ones.
    reach : float
        Radians.
    rounds : int
        How often the step of a degree is quartered.
    """
    rotation = np.stack([basis[2], basis[0], basis[1]])
    find = _finder(corners @ rotation.T, opening, reach)
    few = angles_rad[np.unique(np.floor_divide(angles_rad, STEP_RAD / 2), return_index=True)[1]]
    first = _hopeful(find(few, None), STEP_RAD)
    return _in_icrs(_climbed(find, first, STEP_RAD, None, rounds), rotation)


def _finder(corners: Array, opening: Opening, reach: float) -> Find:
    """Place fields about the place where the equator and zero meridian cross, or about centres known."""
    middle = np.array([[1.0, 0.0, 0.0]])

    def find(angles: Array, centers: Array | None) -> Sides:
        begin = np.repeat(middle, len(angles), axis=0) if centers is None else centers
        return best_centers(corners, opening, begin, angles, reach if centers is None else reach / 20)

    return find


def _in_icrs(best: Sides, rotation: Array) -> Placement:
    """Name a place found in another system."""
    center, axes = best.centers @ rotation, best.axes @ rotation
    basis = np.concatenate([axes, center[:, None]], axis=1)
    angle = np.radians(basis_position_angle_deg(basis))
    return placement_of(Sides(center, angle, axes, best.touching, best.rooms, best.nearest))


def _best_on_arc(shape: Shape, opening: Opening, arc: Arc, rounds: int) -> Sides:
    (start, span), reach = arc, reach_of(shape, opening)

    def find(angles: Array, centers: Array | None) -> Sides:
        if centers is None:
            return best_rooms(shape, opening, angles)
        return best_centers(shape.corners, opening, centers, angles, reach / 20)

    if span <= 0.0:
        return find(np.array([start]), None)
    count = max(2, math.ceil(span / STEP_RAD) + 1)
    angles = start + np.linspace(0.0, span, count)
    step = span / (count - 1)
    tops = _tops(find(angles, None), step, cyclic=False)
    climbed = _climbed(find, tops, step, (start, start + span), rounds)
    again = best_rooms(shape, opening, climbed.angles_rad, climbed.centers)
    return again.taken_where(again.room > climbed.room, climbed)


def _climbed(find: Find, best: Sides, step: float, ends: tuple[float, float] | None, rounds: int) -> Sides:
    """Return the best field less than a step from some, between the ends where there are any."""
    for _ in range(rounds):
        tries = best.angles_rad[:, None] + step * AROUND
        if ends is not None:
            tries = np.clip(tries, *ends)
        begin = np.repeat(best.centers, len(AROUND), axis=0)
        found = find(tries.ravel(), begin)
        room = found.room.reshape(tries.shape)
        best = found.at(np.arange(len(room)) * len(AROUND) + room.argmax(axis=1))
        step /= 4
        best = _hopeful(best, step)
    return best.at(np.array([best.room.argmax()]))


def _tops(placed: Sides, step: float, *, cyclic: bool) -> Sides:
    """Return those fields that leave no less room than their neighbours and could be next to the best."""
    room = placed.room
    before, after = np.roll(room, 1), np.roll(room, -1)
    if not cyclic:
        before[0] = after[-1] = -np.inf
    tops = placed.at((room >= before) & (room >= after))
    order = np.argsort(-tops.room, kind="stable")[:MOST_TOPS]
    return _hopeful(tops.at(order), step)


def _hopeful(placed: Sides, step: float) -> Sides:
    """Return the fields that, turned by a step, could leave the most room; a turn moves corners by their radius."""
    radius = np.linalg.norm(placed.touching, axis=2).max(axis=1)
    return placed.at(placed.room + radius * step >= placed.room.max() - 1e-15)

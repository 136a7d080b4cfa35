"""The position angles at which a field leaves enough room, and the room against the angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .curve import best_rooms
from .opening import Opening
from .shape import Shape
from .sides import Sides

__all__ = ["RoomCurve", "angles_with_room", "paired", "room_curve"]

Array = NDArray[np.float64]
STEP_RAD = math.radians(2.0)
FINEST_RAD = math.radians(0.05)
"""Stretches shorter than this may be missed where the room only just touches what is asked."""
ROUNDS = 40
CLOSE_RAD = 2e-9
"""Ends are found to 1e-7 degrees, or to where the room is next to nothing more than asked."""
NEAR = 3e-9
"""Radians of room (0.6 milliarcseconds): an angle that leaves so little more than asked is an end."""
TOUCH = 1e-9
"""Room that falls short by so little (0.2 milliarcseconds) is enough."""


@dataclass(frozen=True)
class RoomCurve:
    """The largest room at angles over half a turn, and where it reaches what was asked.

    Parameters
    ----------
    angles_deg : ndarray, shape (K,)
        Position angles, rising, in [0, 180).
    rooms : ndarray, shape (K,)
        The largest room that any centre leaves there, in the opening's unit.
    stretches_deg : tuple of (float, float)
        From and to of the angles with enough room: from in [0, 180), to may pass 180; (0, 180) where all do.
    """

    angles_deg: Array
    rooms: Array
    stretches_deg: tuple[tuple[float, float], ...]


def angles_with_room(
    shape: Shape, opening: Opening, least: float = 0.0, also_rad: tuple[float, ...] = ()
) -> tuple[tuple[float, float], ...]:
    """Return the stretches of position angles, degrees, at which some centre leaves at least this room.

    Parameters
    ----------
    shape : Shape
    opening : Opening
    least : float
        In the opening's unit.
    also_rad : tuple of float
        Angles to look at besides, such as the best one.

    Returns
    -------
    tuple of (float, float)
        As in `RoomCurve`. What is far smaller or larger than the field is told at once, in microseconds.
    """
    if _always(shape, opening, least):
        return ((0.0, 180.0),)
    if _never(shape, opening, least):
        return ()
    return room_curve(shape, opening, least, also_rad).stretches_deg


def _always(shape: Shape, opening: Opening, least: float) -> bool:
    """Whether the circle about the shape leaves enough room, however the field is turned."""
    return bool((opening.sizes - math.tan(shape.radius_rad) / opening.units >= least).all())


def _never(shape: Shape, opening: Opening, least: float) -> bool:
    """Whether the shape needs a larger circle than the one about the field."""
    sizes = (opening.sizes - least + TOUCH) * opening.units
    return bool(sizes.min() <= 0 or math.tan(shape.radius_rad) > math.hypot(sizes[0], sizes[2]) * (1 + 1e-6))


def room_curve(
    shape: Shape, opening: Opening, least: float = 0.0, also_rad: tuple[float, ...] = ()
) -> RoomCurve:
    """Return the room against the position angle, looked at as closely as its stretches need.

    A turn moves a corner by its distance from the centre at most, so neighbours that leave much more or much less
    room than asked have no end of a stretch between them; elsewhere the gap is halved, and ends are found to 1e-7
    degrees, or to 0.6 milliarcseconds of room.
    """
    first = np.arange(0.0, np.pi, STEP_RAD)
    extra = np.mod(np.array(also_rad, dtype=float), np.pi)
    placed = best_rooms(shape, opening, np.unique(np.concatenate([first, extra])))
    while True:
        gaps = _gaps(placed, least)
        if not gaps.any():
            break
        placed = _finer(shape, opening, placed, gaps)
    return RoomCurve(
        np.degrees(placed.angles_rad), placed.room, _stretches(shape, opening, placed, least - TOUCH)
    )


def _gaps(placed: Sides, least: float) -> NDArray[np.bool_]:
    """Gaps after each angle that may hold an end unseen, shape (K,)."""
    over = placed.room - (least - TOUCH)
    width = _widths(placed.angles_rad)
    radius = np.linalg.norm(placed.touching, axis=2).max(axis=1)
    rate = 1.5 * np.maximum(radius, np.roll(radius, -1))
    after = np.roll(over, -1)
    near = np.abs(over) + np.abs(after) < rate * width
    alike = np.sign(over) == np.sign(after)
    return np.asarray(near & alike & (width > FINEST_RAD))


def _widths(angles: Array) -> Array:
    return np.asarray(np.diff(np.append(angles, angles[0] + np.pi)))


def _finer(shape: Shape, opening: Opening, placed: Sides, gaps: NDArray[np.bool_]) -> Sides:
    """Return the fields with one more in the middle of each of the gaps."""
    angles = (placed.angles_rad + _widths(placed.angles_rad) / 2)[gaps]
    fresh = best_rooms(shape, opening, angles, placed.centers[gaps])
    order = np.argsort(np.concatenate([placed.angles_rad, angles]), kind="stable")
    return placed.joined(fresh).at(order)


def _stretches(
    shape: Shape, opening: Opening, placed: Sides, least: float
) -> tuple[tuple[float, float], ...]:
    enough = placed.room >= least
    if enough.all():
        return ((0.0, 180.0),)
    ends = np.flatnonzero(enough != np.roll(enough, -1))
    if not len(ends):
        return ()
    turns = np.degrees(_ends(shape, opening, placed, ends, least))
    return paired(turns, ~enough[ends])


def paired(turns_deg: Array, opens: NDArray[np.bool_]) -> tuple[tuple[float, float], ...]:
    """Stretches between ends, which rise with the angle, from each that opens to the one that closes it."""
    first, count = int(np.argmax(opens)), len(turns_deg)
    found = []
    for i in range(first, first + count, 2):
        start, stop = turns_deg[i % count], turns_deg[(i + 1) % count]
        start, stop = start % 180.0, start % 180.0 + (stop - start) % 180.0
        found.append((float(start), float(stop)))
    return tuple(sorted(found))


def _ends(shape: Shape, opening: Opening, placed: Sides, ends: NDArray[np.int64], least: float) -> Array:
    """Angles where the room passes what was asked, radians, on the side of enough.

    By false position, in which the value at an end that stays is halved (the Illinois method).
    """
    beyond = (ends + 1) % len(placed.room)
    rising = placed.room[ends] < least
    out, inside = np.where(rising, ends, beyond), np.where(rising, beyond, ends)
    width = _widths(placed.angles_rad)[ends]
    low, high = np.where(rising, 0.0, width), np.where(rising, width, 0.0)
    short, over = placed.room[out] - least, placed.room[inside] - least
    for _ in range(ROUNDS):
        left = np.flatnonzero(np.abs(high - low) > CLOSE_RAD)
        if not len(left):
            break
        share = np.clip(-short[left] / (over[left] - short[left]), 0.01, 0.99)
        middle = low[left] + share * (high[left] - low[left])
        found = best_rooms(
            shape, opening, placed.angles_rad[ends[left]] + middle, placed.centers[inside[left]]
        )
        value = found.room - least
        enough = value >= 0
        there = enough & (value < NEAR)
        low[left] = np.where(enough & ~there, low[left], middle)
        high[left] = np.where(enough, middle, high[left])
        short[left] = np.where(enough, short[left] / 2, value)
        over[left] = np.where(enough, value, over[left] / 2)
    return np.asarray(placed.angles_rad[ends] + high)

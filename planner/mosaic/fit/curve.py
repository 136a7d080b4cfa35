"""The largest room that any centre leaves, at given position angles, anywhere on the sky."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from .centers import best_centers
from .opening import Opening
from .shape import Shape
from .sides import Sides, axes_at, sides_of

__all__ = ["best_rooms", "reach_of", "right_ascension_on_pole"]

Array = NDArray[np.float64]
STEEP = 2.0
"""A pole within so many reaches of the middle: angles change much from centre to centre, so many are tried."""
BENT = 12.0
"""Within so many reaches a search may get stuck a little below the top: it begins at its neighbours' centres too."""
MANY = 24
TURNS_RAD = (math.radians(2.0), math.radians(1.0))
SPOKES = 72
"""So many meridians about the pole are tried,"""
STARTS = 5
"""and searches begin on the best so many."""
GOLDEN, SECTIONS = (math.sqrt(5) - 1) / 2, 10
POLE_ANGLES = 1440
POLE_ROUNDS = 6
MOST_ROWS = 20_000
"""So many fields are placed at a time."""


def best_rooms(shape: Shape, opening: Opening, angles_rad: Array, centers: Array | None = None) -> Sides:
    """Place one field at each angle so that the least room at its sides is as large as it can be.

    Parameters
    ----------
    shape : Shape
    opening : Opening
    angles_rad : ndarray, shape (K,)
        Position angles at the fields' own centres.
    centers : ndarray, shape (K, 3), optional
        Where to begin, where good centres are known.

    Returns
    -------
    Sides
        A field on a pole itself has the axes of the right ascension that makes its angle the one asked for.
    """
    angles_rad = np.asarray(angles_rad, dtype=float)
    reach, middle = reach_of(shape, opening), shape.basis[2]
    to_pole = math.hypot(middle[0], middle[1])
    if centers is not None and to_pole >= BENT * reach:
        return best_centers(shape.corners, opening, centers, angles_rad, reach / 10)
    middles = np.broadcast_to(middle, (len(angles_rad), 3))
    best = best_centers(shape.corners, opening, middles, angles_rad, reach)
    if centers is not None:
        best = _again(shape, opening, best, centers, reach)
    if to_pole < STEEP * reach:
        return _near_pole(shape, opening, best, reach)
    if to_pole < BENT * reach:
        return _from_neighbours(shape, opening, best, reach)
    return best


def _from_neighbours(shape: Shape, opening: Opening, best: Sides, reach: float) -> Sides:
    """Begin at the centres found at neighbouring angles too: those asked for, or some made up for a few."""
    if len(best.angles_rad) >= MANY:
        for shift in (1, -1, 1, -1):
            best = _again(shape, opening, best, np.roll(best.centers, shift, axis=0), reach)
        return best
    for way in (1.0, -1.0):
        beside = best
        for turn in TURNS_RAD:
            near = replace(beside, angles_rad=best.angles_rad + way * turn)
            beside = best_centers(shape.corners, opening, near.centers, near.angles_rad, reach / 10)
        best = _again(shape, opening, best, beside.centers, reach)
    return best


def _again(shape: Shape, opening: Opening, best: Sides, centers: Array, reach: float) -> Sides:
    """Begin at other centres too, and keep what is better."""
    found = best_centers(shape.corners, opening, centers, best.angles_rad, reach / 10)
    return found.taken_where(found.room > best.room, best)


def reach_of(shape: Shape, opening: Opening) -> float:
    """Return how far from the middle the centre of a good field may lie, tangent plane."""
    return max(*opening.half, math.tan(shape.radius_rad))


def _near_pole(shape: Shape, opening: Opening, best: Sides, reach: float) -> Sides:
    """Search from the best meridians about a pole, and on it."""
    starts = _starts(shape, opening, best.angles_rad, reach)
    angles = np.tile(best.angles_rad, STARTS)
    found = best_centers(shape.corners, opening, starts.reshape(-1, 3), angles, reach / 20)
    top = found.room.reshape(STARTS, -1).argmax(axis=0)
    found = found.at(top * len(top) + np.arange(len(top)))
    best = found.taken_where(found.room > best.room, best)
    pole = _on_pole(shape, opening, best.angles_rad)
    return pole.taken_where(pole.room > best.room, best)


def _starts(shape: Shape, opening: Opening, angles_rad: Array, reach: float) -> Array:
    """Return where to begin: on the meridians that leave more room than their neighbours, (STARTS, K, 3)."""
    middle = shape.basis[2]
    farthest = math.hypot(middle[0], middle[1]) + reach
    each = max(1, MOST_ROWS // SPOKES)
    starts = [
        _best_meridians(*_along_meridians(shape, opening, angles_rad[first : first + each], farthest))
        for first in range(0, len(angles_rad), each)
    ]
    return np.concatenate(starts, axis=1)


def _along_meridians(
    shape: Shape, opening: Opening, angles_rad: Array, farthest: float
) -> tuple[Array, Array]:
    """Return the best place on each meridian and its room, shapes (K, SPOKES, 3) and (K, SPOKES).

    A field that moves along a meridian at its own angle turns about a fixed axis: a corner lies inside one of its
    sides for half of such a turn. So all corners leave at least some room along one stretch, the room rises to
    one top and falls, and the golden section finds that.
    """
    spoke = np.tile(2 * np.pi * np.arange(SPOKES) / SPOKES, len(angles_rad))
    angles = np.repeat(angles_rad, SPOKES)
    pole = math.copysign(1.0, shape.basis[2, 2])

    def room(radius: Array) -> Array:
        ahead = _about_pole(radius, spoke, pole)
        return sides_of(shape.corners, opening, ahead, angles).room

    low, high = np.zeros(len(angles)), np.full(len(angles), farthest)
    inner, outer = high - GOLDEN * high, GOLDEN * high
    at_inner, at_outer = room(inner), room(outer)
    for _ in range(SECTIONS):
        nearer = at_inner > at_outer
        low, high = np.where(nearer, low, inner), np.where(nearer, outer, high)
        fresh = np.where(nearer, high - GOLDEN * (high - low), low + GOLDEN * (high - low))
        at_fresh = room(fresh)
        inner, outer = np.where(nearer, fresh, outer), np.where(nearer, inner, fresh)
        at_inner, at_outer = np.where(nearer, at_fresh, at_outer), np.where(nearer, at_inner, at_fresh)
    best = np.where(at_inner > at_outer, inner, outer)
    shaped = (len(angles_rad), SPOKES)
    return _about_pole(best, spoke, pole).reshape(*shaped, 3), np.maximum(at_inner, at_outer).reshape(shaped)


def _about_pole(radius: Array, spoke: Array, pole: float) -> Array:
    places = np.stack([radius * np.cos(spoke), radius * np.sin(spoke), np.full_like(radius, pole)], axis=-1)
    return np.asarray(places / np.linalg.norm(places, axis=-1, keepdims=True))


def _best_meridians(places: Array, room: Array) -> Array:
    """Return the places on the meridians that stand out, shape (STARTS, K, 3)."""
    peak = (room >= np.roll(room, 1, axis=1)) & (room >= np.roll(room, -1, axis=1))
    order = np.argsort(-np.where(peak, room, room - 1e9), axis=1)[:, :STARTS]
    return np.asarray(np.take_along_axis(places, order[..., None], axis=1).transpose(1, 0, 2))


def _on_pole(shape: Shape, opening: Opening, angles_rad: Array) -> Sides:
    """Fields on the pole itself, turned as is best: some right ascension stands for every angle."""
    return replace(
        _best_on_pole(shape, opening).at(np.zeros(len(angles_rad), dtype=int)), angles_rad=angles_rad
    )


@lru_cache(maxsize=64)
def _best_on_pole(shape: Shape, opening: Opening) -> Sides:
    pole = np.array([[0.0, 0.0, math.copysign(1.0, shape.basis[2, 2])]])
    angles, half = np.linspace(0.0, np.pi, POLE_ANGLES, endpoint=False), np.pi / POLE_ANGLES
    for _ in range(POLE_ROUNDS):
        placed = sides_of(shape.corners, opening, np.repeat(pole, len(angles), axis=0), angles)
        angles = placed.angles_rad[placed.room.argmax()] + half * np.linspace(-1.0, 1.0, 41)
        half /= 20
    return placed.at(np.array([placed.room.argmax()]))


def right_ascension_on_pole(axes: Array, out: Array, angle_rad: float) -> float:
    """Right ascension, degrees, whose meridian gives a field on a pole its angle.

    Parameters
    ----------
    axes : ndarray, shape (2, 3)
        Towards left and up.
    out : ndarray, shape (3,)
        The pole.
    angle_rad : float
    """
    up = axes_at(out[None], np.zeros(1))[0]
    stands = math.atan2(float(axes[1] @ up[0]), float(axes[1] @ up[1]))
    return math.degrees((angle_rad - stands) * math.copysign(1.0, out[2])) % 360.0

"""Many shapes at once: the corners of each, its middle and radius, as `Shape` finds them one by one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky

from .shape import ROUNDS, WIDEST_DEG, Shape

__all__ = ["shapes_around"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def shapes_around(things: Sequence[Iterable[ArrayLike]]) -> tuple[Shape | None, ...]:
    """Return the shape of each of many things: what `Shape.around` gives, thousands in a second.

    Parameters
    ----------
    things : sequence of iterables of array_like of shape (N, 3)
        Rings (or loose points) of unit vectors of each.

    Returns
    -------
    tuple of Shape or None
        None for what reaches too far for one plane.

    >>> from planner.geometry import sky_to_vector
    >>> ring = sky_to_vector([0, 1, 1, 0, 0.5], [0, 0, 1, 1, 0.5])
    >>> [len(one.corners) for one in shapes_around([[ring], [ring[:4]]])]
    [4, 4]
    """
    parts = [[np.asarray(ring, dtype=float).reshape(-1, 3) for ring in rings] for rings in things]
    if any(not sum(map(len, rings)) for rings in parts):
        raise InputError("there is nothing to fit into the field; name at least one part")
    corners = np.concatenate([ring for rings in parts for ring in rings] or [np.empty((0, 3))])
    of = np.repeat(np.arange(len(parts)), [sum(map(len, rings)) for rings in parts])
    near = _within_reach(corners, _starts(of), of)
    numbers = np.flatnonzero(near)
    found: list[Shape | None] = [None] * len(parts)
    for number, shape in zip(numbers, _shapes(corners[near[of]], _renumbered(of[near[of]])), strict=True):
        found[number] = shape
    return tuple(found)


def _starts(of: Index) -> Index:
    return np.flatnonzero(np.diff(of, prepend=-1))


def _renumbered(of: Index) -> Index:
    return np.asarray(np.unique(of, return_inverse=True)[1])


def _middles(corners: Array, starts: Index) -> Array:
    sums = np.add.reduceat(corners, starts, axis=0) if len(starts) else np.empty((0, 3))
    lengths = np.linalg.norm(sums, axis=1, keepdims=True)
    return np.asarray(sums / np.maximum(lengths, 1e-12))


def _within_reach(corners: Array, starts: Index, of: Index) -> NDArray[np.bool_]:
    """Which things lie so near together that a tangent plane at their middle holds them."""
    if not len(of):
        return np.zeros(0, dtype=bool)
    depth = np.sum(corners * _middles(corners, starts)[of], axis=1)
    return np.asarray(np.minimum.reduceat(depth, starts) >= np.cos(np.radians(WIDEST_DEG)))


def _shapes(corners: Array, of: Index) -> list[Shape]:
    """Shapes of corners that belong to things numbered from 0 on without a gap."""
    if not len(of):
        return []
    bases = _bases(_middles(corners, _starts(of)))
    hulls = shapely.convex_hull(_lines(corners, bases, of))
    flat, thing = shapely.get_coordinates(hulls, return_index=True)
    closing = np.append(thing[1:] != thing[:-1], True) & (shapely.get_type_id(hulls) == 3)[thing]
    flat, thing = flat[~closing], thing[~closing]
    hull = plane_to_vector(flat, bases[thing])
    for _ in range(ROUNDS):
        bases = _bases(_round_middles(hull, bases, thing))
    radii = np.arccos(
        np.clip(np.minimum.reduceat(np.sum(hull * bases[thing, 2], axis=1), _starts(thing)), -1, 1)
    )
    pieces = np.split(hull, _starts(thing)[1:])
    return [
        Shape.known(piece, basis, float(radius))
        for piece, basis, radius in zip(pieces, bases, radii, strict=True)
    ]


def _bases(middles: Array) -> Array:
    return sky_basis(*vector_to_sky(middles), 0.0)


def _lines(corners: Array, bases: Array, of: Index) -> NDArray[np.object_]:
    """All corners of each thing in its own tangent plane, as one line each (twice the same point where it is one)."""
    every = np.repeat(np.arange(len(of)), 1 + (np.bincount(of) == 1)[of])
    return np.asarray(shapely.linestrings(vector_to_plane(corners, bases[of])[every], indices=of[every]))


def _round_middles(corners: Array, bases: Array, of: Index) -> Array:
    """Middles of the smallest circles about the corners, unit vectors; of a single corner itself."""
    lines = _lines(corners, bases, of)
    circles = shapely.centroid(shapely.minimum_bounding_circle(lines))
    middles = np.where(shapely.is_empty(circles), shapely.get_point(lines, 0), circles)
    return plane_to_vector(shapely.get_coordinates(middles), bases)

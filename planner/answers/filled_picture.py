"""A picture that is full: the angle and the rectangle about a region that the fewest panels fill.

Panels square with a rectangle fill it best in rows and columns, so their number follows from its sides. The sides at
every angle are those of the region; the angle with the fewest panels is taken, of several the one that leaves most
room about the region, and the rectangle grows into that room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import steady, vector_to_plane, wrapped_deg
from planner.mosaic.layout.lay_out import lay_out, orientation_for
from planner.mosaic.orientation import Orientation
from planner.mosaic.rectangle import Rectangle, smallest_rectangle
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms
from planner.request.picture import smallest_picture
from planner.request.request import Request

__all__ = ["filled_counts", "filled_rectangle", "room_about"]

Array = NDArray[np.float64]
STEP_DEG = 0.25
"""Angles at which panels are counted."""
TRIED, APART_DEG = 2, 3.0
"""So many of the best angles, at least so far apart, are laid out on the sphere."""
SHARES, HALVINGS = (0.995, 0.75), 2
"""Parts of the room that a flat sky would leave into which the rectangle grows; then halvings of what is open."""
MOST_FAILS = 2
"""So many trials in a row that need more panels end that."""
ROUNDING = 1e-9
EQUAL_RAD = 3e-5
"""Rooms that differ by no more (0.1 arc minutes) are equal: last digits choose no angle about a round region."""


@dataclass(frozen=True)
class _Way:
    """An angle and an aspect; how many panels fill the rectangle there, and the room (radians) that they leave."""

    angle_deg: float
    aspect: float | None
    count: int
    room: float


def filled_rectangle(
    request: Request, region: Region, terms: Terms, layout: Layout
) -> tuple[Rectangle, Layout]:
    """Return the picture that is to be filled, and the layout of its panels.

    Parameters
    ----------
    request : Request
    region : Region
        What the picture must hold, after its margin.
    terms : Terms
    layout : Layout
        What the request allows.
    """
    pinned_deg = request.picture.position_angle_deg if request.picture else None
    if pinned_deg is not None and (layout.angle_deg is not None or layout.angle_range_deg is not None):
        return smallest_picture(request, region, Orientation.common(pinned_deg)), layout
    start_deg = layout.angle_deg if pinned_deg is None else pinned_deg
    aspects = request.picture.aspects if request.picture else (None,)
    ways = _ways(region, terms, aspects, _angles(layout, terms, start_deg))
    best = _fewest(region, terms, layout, ways)
    rectangle = _grown(region, terms, layout, best)
    if layout.several_angles:
        return rectangle, layout
    return rectangle, replace(layout, angle_deg=rectangle.position_angle_deg, angle_range_deg=None)


def filled_counts(request: Request, region: Region, terms: Terms, angles_deg: Array) -> NDArray[np.int64]:
    """Return how many panels fill the picture at camera angles, as if the sky were flat.

    Parameters
    ----------
    request : Request
        Whose picture is filled, at the panels' angle.
    region : Region
        What the picture must hold.
    terms : Terms
    angles_deg : ndarray, shape (K,)

    Returns
    -------
    ndarray, shape (K,)
    """
    aspects = request.picture.aspects if request.picture else (None,)
    least: dict[float, int] = {}
    for way in _ways(region, terms, aspects, angles_deg):
        least.setdefault(way.angle_deg, way.count)
    return np.array([least[angle] for angle in angles_deg.tolist()])


def room_about(region: Region, rectangle: Rectangle) -> float:
    """Least distance, degrees, between a region and the sides of a rectangle that holds it, in its plane."""
    plane = rectangle.as_region().basis
    basis = Orientation.common(rectangle.position_angle_deg).bases(plane[2])
    xy = np.abs(vector_to_plane(region.outline_vectors, basis)).max(axis=0)
    half = steady.tan(np.radians([rectangle.width_deg, rectangle.height_deg]) / 2)
    return math.degrees(float((steady.arctan(half) - steady.arctan(xy)).min()))


def _angles(layout: Layout, terms: Terms, pinned_deg: float | None) -> Array:
    """Camera angles that may be tried, degrees."""
    if pinned_deg is not None:
        return np.array([pinned_deg])
    start, end = layout.angle_range_deg or (0.0, 180.0)
    span = 180.0 if abs(end - start) >= 180.0 else (end - start) % 180.0
    return start + np.linspace(0.0, span, max(2, math.ceil(span / STEP_DEG)), endpoint=span < 180.0)


def _ways(region: Region, terms: Terms, aspects: Sequence[float | None], angles_deg: Array) -> list[_Way]:
    """Count panels at all angles as if the sky were flat; the best ways first."""
    half, core = _sizes(terms)
    sides = _sides(region, angles_deg)
    found = []
    for aspect in aspects:
        wide = sides if aspect is None else _with_aspect(sides, aspect)
        counts = np.maximum(1, np.ceil((wide - 2 * (half - core)) / (2 * core) - ROUNDING))
        held = counts * 2 * core + 2 * (half - core)
        if aspect is not None:
            held = np.min(held / [aspect, 1.0], axis=1)[:, None] * [aspect, 1.0]
        rooms = np.min(held - sides, axis=1) / 2
        total = counts.prod(axis=1).astype(int)
        rows = zip(angles_deg.tolist(), total.tolist(), rooms.tolist(), strict=True)
        found += [_Way(angle, aspect, count, room) for angle, count, room in rows]
    return _ranked(found)


def _ranked(ways: Sequence[_Way]) -> list[_Way]:
    """Sort ways: fewest panels, then most room; of equals what stands most nearly square with north."""
    most: dict[int, float] = {}
    for way in ways:
        most[way.count] = max(way.room, most.get(way.count, way.room))

    def rank(way: _Way) -> tuple[int, float, float]:
        turn = way.angle_deg % 90.0
        return way.count, max(0.0, most[way.count] - way.room - EQUAL_RAD), min(turn, 90.0 - turn)

    return sorted(ways, key=rank)


def _sizes(terms: Terms) -> tuple[Array, Array]:
    """Half sizes of panels and of their cores, each of shape (2,)."""
    half = np.min([demand.half_size for demand in terms.layout_demands], axis=0)
    core = np.min([demand.core for demand in terms.layout_demands], axis=0)
    return np.asarray(half), np.asarray(core)


def _sides(region: Region, angles_deg: Array) -> Array:
    """Sides (A, 2) of the smallest rectangles about a region at angles, in the region's plane."""
    x, y = vector_to_plane(region.outline_vectors, region.basis).T
    cos, sin = (each[:, None] for each in steady.cos_sin(np.radians(angles_deg)))
    return np.stack([np.ptp(cos * x - sin * y, axis=1), np.ptp(sin * x + cos * y, axis=1)], axis=-1)


def _room(region: Region, terms: Terms, way: _Way) -> float:
    """Most room that a way's panels leave about a region in any full grid of them, if the sky were flat."""
    half, core = _sizes(terms)
    columns = np.arange(1, way.count + 1)
    held = np.stack([columns, way.count // columns], axis=-1) * 2 * core + 2 * (half - core)
    if way.aspect is not None:
        held = np.min(held / [way.aspect, 1.0], axis=1)[:, None] * [way.aspect, 1.0]
    return float((held - _sides(region, np.array([way.angle_deg]))).min(axis=1).max()) / 2


def _with_aspect(sides: Array, aspect: float) -> Array:
    """Sides (A, 2) of the smallest rectangles of an aspect that hold rectangles of other sides."""
    return np.asarray(np.max(sides / [aspect, 1.0], axis=1)[:, None] * [aspect, 1.0])


def _fewest(region: Region, terms: Terms, layout: Layout, ways: Sequence[_Way]) -> _Way:
    """Return the way that needs the fewest panels on the sphere, of the most promising."""
    tried: list[_Way] = []
    for way in ways:
        if way.count > ways[0].count + 1 or len(tried) == TRIED:
            break
        if all(
            way.aspect != other.aspect or abs(wrapped_deg(way.angle_deg - other.angle_deg)) > APART_DEG
            for other in tried
        ):
            tried.append(way)
    found: list[_Way] = []
    for way in tried:
        count = _count(_rectangle(region, layout, way, 0.0), terms, layout)
        found.append(replace(way, count=count))
        if count == ways[0].count:
            break
    return min(found, key=lambda way: way.count)


def _grown(region: Region, terms: Terms, layout: Layout, way: _Way) -> Rectangle:
    """Return the largest rectangle about the region that no more panels fill."""
    best, low = _rectangle(region, layout, way, 0.0), 0.0
    high = max(_room(region, terms, way), 0.0)
    trials, fails = [share * high for share in SHARES], 0
    for number in range(len(SHARES) + HALVINGS if high > 0.0 else 0):
        if fails == MOST_FAILS:
            break
        room = trials[number] if number < len(trials) else (low + high) / 2
        rectangle = _rectangle(region, layout, way, room)
        if _count(rectangle, terms, layout) <= way.count:
            best, low, fails = rectangle, room, 0
        else:
            high, fails = room, fails + 1
        if low >= SHARES[0] * high * (1 - ROUNDING):
            break
    return best


def _rectangle(region: Region, layout: Layout, way: _Way, room: float) -> Rectangle:
    """Return the smallest rectangle of a way's angle and aspect that leaves room (radians) about the region."""
    rectangle = smallest_rectangle(region, orientation_for(region, layout.angles, way.angle_deg))
    half = steady.tan(np.radians([rectangle.width_deg, rectangle.height_deg]) / 2) + room
    width_deg, height_deg = (2 * math.degrees(steady.arctan(size)) for size in half.tolist())
    rectangle = Rectangle(rectangle.center_deg, width_deg, height_deg, rectangle.position_angle_deg)
    return rectangle if way.aspect is None else rectangle.with_aspect(way.aspect, 1.0)


def _count(rectangle: Rectangle, terms: Terms, layout: Layout) -> int:
    """Panels in rows or a grid that fill a rectangle square with them."""
    region = rectangle.as_region()
    orientation = orientation_for(region, layout.angles, rectangle.position_angle_deg)
    try:
        return len(lay_out(region, terms, replace(layout, columns=None, rows=None), orientation))
    except InputError:
        return 10**9

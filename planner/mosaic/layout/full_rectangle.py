"""The largest rectangle at an angle that panels fill: the picture without an empty corner.

The union of the panels is a polygon in the rectangle's own tangent plane, where great circles are straight. Between
two heights that polygon leaves free intervals: what no edge enters. The larger of two strips, one inside the other,
never has the longer interval; so a strip between two ranges of heights bounds all that end in them. Ranges are halved
until no bound exceeds the best rectangle found by more than `PRECISION`; then that one is settled in the plane that
touches the sky at its own centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import basis_position_angle_deg, plane_to_vector, steady, vector_to_plane, vector_to_sky
from planner.mosaic.orientation import Orientation
from planner.mosaic.rectangle import LOWEST_DEPTH, Rectangle

from .strips import Outline

__all__ = ["FilledGround"]

Array = NDArray[np.float64]
RANGES = 12
"""Ranges of heights to begin with."""
PRECISION = 1e-5
"""No other rectangle is longer (of a given aspect), or larger (of any), by more than this part."""
MOST_LOOKS, NEAR = 4, 0.03
"""A plane magnifies away from its centre: one whose largest rectangle lies further off (radians) gives another."""
STEP_DEG, FINEST_DEG, ROUGH = 6.0, 0.05, 4e-3
"""Angles that are looked at first, how near the last ones stand, and the precision then."""
MOST_BOXES = 8_000
"""Pairs of ranges that are looked at together; of more, the most promising."""
SMALLEST = 1e-3
"""Rectangles whose sides are less than this part of the ground's height do not count."""
GRID, SHRINK, WINDOW = 7, 0.4, 3e-3
"""When a rectangle is settled: places tried along each range, how fast that closes in, its first part of a side."""
PATIENCE, GAIN, STILL = 3, 1e-7, 1e-11
"""So many planes with less gain end the search for the one at the rectangle's centre; short moves (radians) too."""
MOST_PLANES, BETWEEN = 12, (0.2, 0.4, 0.5, 0.6, 0.8)
"""Planes at most, and where between the last two of them it is looked once more."""
ROUNDING = 1e-9
HAIR = 1e-12
"""Radians by which sides are drawn in, against rounding."""


@dataclass(frozen=True)
class _Free:
    """A rectangle in a plane: from `start` to `end` along its first coordinate, `low` to `high` along the second."""

    start: float
    end: float
    low: float
    high: float

    @property
    def center(self) -> Array:
        """Middle, shape (2,)."""
        return np.array([(self.start + self.end) / 2, (self.low + self.high) / 2])

    @property
    def half(self) -> Array:
        """Half sizes, shape (2,)."""
        return np.array([self.end - self.start, self.high - self.low]) / 2

    def value(self, aspect: float | None) -> float:
        """Its area, or with an aspect its height."""
        width, height = (2 * self.half).tolist()
        return float(_value(np.array(height), np.array(width), aspect))

    @property
    def centred(self) -> _Free:
        """The same about the origin."""
        x, y = self.half.tolist()
        return _Free(-x, x, -y, y)


class FilledGround:
    """All that lies in at least one panel, and the largest rectangles in it.

    Parameters
    ----------
    corners : ndarray, shape (N, 4, 3)
        Of panels, unit vectors.
    """

    def __init__(self, corners: Array) -> None:
        self.corners = corners
        self._starts, self._ends = self._rims()

    def _rims(self) -> tuple[Array, Array]:
        """Unit vectors (E, 3) of both ends of the edges of the panels' union."""
        middle = self.corners.sum(axis=(0, 1))
        basis = Orientation.common(0.0).bases(middle / np.sqrt(steady.dot(middle, middle)))
        seen = steady.dot(self.corners, basis[2]).min(axis=1) > LOWEST_DEPTH
        flat = shapely.union_all(shapely.polygons(vector_to_plane(self.corners[seen], basis)))
        xy, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(flat)), return_index=True)
        vectors, edge = plane_to_vector(xy, basis), ring[1:] == ring[:-1]
        return vectors[:-1][edge], vectors[1:][edge]

    def largest(
        self, orientation: Orientation, aspect: float | None = None, *, precision: float = PRECISION
    ) -> Rectangle | None:
        """Largest rectangle that stands as a panel at its own centre would.

        Parameters
        ----------
        orientation : Orientation
        aspect : float, optional
            Width over height; left out, any: the largest by area in its own plane.
        precision : float
            As `PRECISION`, in (0, 1).

        Returns
        -------
        Rectangle or None
            None where the panels leave no rectangle in front of a plane.
        """
        middle = self._starts.sum(axis=0)
        basis = orientation.bases(middle / np.sqrt(steady.dot(middle, middle)))
        best: tuple[_Free, Array] | None = None
        value = 0.0
        for _ in range(MOST_LOOKS):
            edges = self._seen_from(basis)
            found = None if edges is None else _largest(edges, aspect, precision)
            if found is None:
                break
            basis = orientation.bases(plane_to_vector(found.center, basis))
            gives = self._value_about(basis, found.half, aspect)
            if gives > value:
                best, value = (found, basis), gives
            if float(np.abs(found.center).max()) < NEAR:
                break
        return None if best is None else self._settled(*best, orientation, aspect)

    def _value_about(self, basis: Array, half: Array, aspect: float | None) -> float:
        """Size of the largest rectangle about the centre of a plane, not much larger than one known."""
        edges = self._seen_from(basis)
        if edges is None:
            return 0.0
        x, y = _centred_half(edges, half, aspect)
        return float(_value(y, x, aspect))

    def best_angle_deg(self, aspect: float | None, *, start_deg: float = 0.0) -> float:
        """Position angle of the largest rectangle of all angles, as seen from one plane, to `FINEST_DEG`.

        Parameters
        ----------
        aspect : float, optional
            As in `largest`.
        start_deg : float
            An angle that is among those looked at first.
        """
        middle = self._starts.sum(axis=0)
        edges = self._seen_from(
            Orientation.common(start_deg).bases(middle / np.sqrt(steady.dot(middle, middle)))
        )
        if edges is None:
            return start_deg
        known: dict[float, float] = {}

        def look(turn_deg: float) -> None:
            if turn_deg not in known:
                cos, sin = steady.cos(math.radians(turn_deg)), steady.sin(math.radians(turn_deg))
                turned = steady.times(edges, [[cos, sin], [-sin, cos]])
                found = _largest(turned, aspect, ROUGH, beaten=max(known.values(), default=0.0))
                known[turn_deg] = 0.0 if found is None else found.value(aspect)

        widest_deg = 45.0 if aspect in (None, 1.0) else 90.0
        turns_deg = np.arange(STEP_DEG - widest_deg, widest_deg + STEP_DEG, STEP_DEG)
        for turn_deg in sorted(turns_deg.tolist(), key=abs):  # the first rules much of the others out
            look(turn_deg)
        step = STEP_DEG
        while step > FINEST_DEG:
            best, step = max(known, key=lambda turn: (known[turn], -turn)), step / 2
            look(best - step)
            look(best + step)
        return (start_deg + max(known, key=lambda turn: (known[turn], -turn))) % 360.0

    def _seen_from(self, basis: Array) -> Array | None:
        """Edges, shape (E, 2, 2), in a plane; None where one lies behind it."""
        if (
            min(steady.dot(self._starts, basis[2]).min(), steady.dot(self._ends, basis[2]).min())
            < LOWEST_DEPTH
        ):
            return None
        return np.stack([vector_to_plane(self._starts, basis), vector_to_plane(self._ends, basis)], axis=1)

    def _settled(
        self, found: _Free, basis: Array, orientation: Orientation, aspect: float | None
    ) -> Rectangle | None:
        """Return the rectangle near one found, in the plane that touches the sky at its own centre.

        Where the angle stands for another turn at every centre, as near a pole, the best of the planes counts.
        """
        window, best, value, worse = WINDOW, None, 0.0, 0
        tried: list[Array] = []

        def look(basis: Array, half: Array) -> float:
            """Size of the largest rectangle about a plane's centre, near one known; the best one is kept."""
            nonlocal best, value
            edges = self._seen_from(basis)
            found_half = np.zeros(2) if edges is None else _centred_half(edges, half, aspect)
            gives = float(_value(found_half[1], found_half[0], aspect))
            if gives > value:
                best, value = (found_half, basis), gives
            return gives

        for _ in range(MOST_PLANES):
            before = value
            gives = look(basis, found.half)
            worse = 0 if gives > before * (1 + GAIN) else worse + 1
            edges = self._seen_from(basis)
            if edges is None or worse == PATIENCE:
                break
            tried.append(basis[2])
            found = _settled_in_plane(edges, found.centred, aspect, window * float(found.half.max()))
            moved = float(np.abs(found.center).max())
            if moved < STILL:
                return self._as_rectangle(best, orientation)
            window = min(window, 4.0 * moved / float(found.half.max()))
            basis = orientation.bases(plane_to_vector(found.center, basis))
        for share in BETWEEN if len(tried) > 1 else ():  # planes that magnify to and fro: look between them
            middle = (1 - share) * tried[-2] + share * tried[-1]
            look(orientation.bases(middle / np.sqrt(steady.dot(middle, middle))), found.half)
        return self._as_rectangle(best, orientation)

    @staticmethod
    def _as_rectangle(best: tuple[Array, Array] | None, orientation: Orientation) -> Rectangle | None:
        if best is None:
            return None
        half, basis = best
        return _on_sky(half * (1.0 - HAIR / half.min()), basis, orientation)


def _value(height: Array, length: Array, aspect: float | None) -> Array:
    """What a free strip gives: its area, or the height of the largest rectangle of an aspect in it."""
    return np.asarray(height * length if aspect is None else np.minimum(height, length / aspect))


def _rectangle_in(start: float, end: float, low: float, high: float, aspect: float | None) -> _Free:
    """Return a strip, or the largest rectangle of an aspect in its middle."""
    if aspect is None:
        return _Free(start, end, low, high)
    half = min(high - low, (end - start) / aspect) / 2
    u, v = (start + end) / 2, (low + high) / 2
    return _Free(u - aspect * half, u + aspect * half, v - half, v + half)


def _largest(edges: Array, aspect: float | None, precision: float, *, beaten: float = 0.0) -> _Free | None:
    """Largest rectangle, square with the axes, in what edges (E, 2, 2) enclose.

    One of a lower value than `beaten` is not looked for: where there is no larger one, what is returned is any.
    """
    outline = Outline(edges[:, 0], edges[:, 1])
    widest = float(np.ptp(edges[..., 0]))
    least = SMALLEST * (outline.top - outline.bottom)
    cuts = np.linspace(outline.bottom, outline.top, RANGES + 1)
    first, last = np.triu_indices(RANGES)
    boxes = np.stack([cuts[first], cuts[first + 1], cuts[last], cuts[last + 1]], axis=-1)
    best, value = None, 0.0
    while len(boxes):
        bottom, above, below, top = boxes.T
        inner = np.flatnonzero(below - above > least)
        length = np.full(len(boxes), widest)
        start, end = outline.longest_free(above[inner], below[inner])
        length[inner] = end - start
        gives = _value((below - above)[inner], end - start, aspect)
        if len(gives) and gives.max() > value:
            k = int(gives.argmax())
            value = float(gives[k])
            best = _rectangle_in(start[k], end[k], above[inner[k]], below[inner[k]], aspect)
        bound = _value(top - bottom, length, aspect)
        hopeful = np.maximum(value * (1 + precision), beaten * (1 - ROUNDING))
        open_ = (bound > hopeful) & (top - bottom > least)
        if (
            aspect is not None
        ):  # strips taller than their intervals allow give no more than lower ones in them
            open_ &= length >= aspect * (below - above) * (1 - ROUNDING)
        boxes = _halved(boxes[open_], bound[open_])
    return best


def _halved(boxes: Array, bound: Array) -> Array:
    """Pairs of halves of both ranges; of too many, those with the largest bounds."""
    if len(boxes) > MOST_BOXES // 4:
        boxes = boxes[np.argsort(-bound, kind="stable")[: MOST_BOXES // 4]]
    bottom, above, below, top = boxes.T
    first, last = (bottom + above) / 2, (below + top) / 2
    parts = [
        np.stack([*low, *high], axis=-1)
        for low in ((bottom, first), (first, above))
        for high in ((below, last), (last, top))
    ]
    found = np.concatenate(parts)
    found = found[found[:, 3] > found[:, 0]]
    return np.asarray(found[(found[:, 1] - found[:, 0]) > 1e-15])


def _settled_in_plane(edges: Array, found: _Free, aspect: float | None, reach: float) -> _Free:
    """Return the largest rectangle near one found, by ever finer grids of its two heights."""
    u, low, high = float(found.center[0]), found.low, found.high
    steps, best, value = np.linspace(-1.0, 1.0, GRID), found, 0.0
    while reach > STILL / 4:
        lows, highs = (axis.ravel() for axis in np.meshgrid(low + reach * steps, high + reach * steps))
        start, end = _free_about(edges, u, lows, highs)
        gives = _value(highs - lows, end - start, aspect)
        k = int(gives.argmax())
        if gives[k] > value:
            value, low, high = float(gives[k]), float(lows[k]), float(highs[k])
            best = _rectangle_in(float(start[k]), float(end[k]), low, high, aspect)
            u = float(best.center[0])
        reach *= SHRINK
    return best


def _centred_half(edges: Array, half: Array, aspect: float | None) -> Array:
    """Half sizes, not much larger than some, of the largest rectangle about the plane's origin."""
    height, reach = 0.6 * float(half[1]), 0.55 * float(half[1])
    steps, best, value = np.linspace(-1.0, 1.0, 4 * GRID), np.zeros(2), 0.0
    while reach > STILL / 4:
        heights = height + reach * steps
        start, end = _free_about(edges, 0.0, -heights, heights)
        widths = np.minimum(-start, end)
        gives = _value(heights, widths, aspect)
        k = int(gives.argmax())
        if gives[k] > value:
            value, height = float(gives[k]), float(heights[k])
            x, y = float(widths[k]), float(heights[k])
            best = np.array([x, y]) if aspect is None else min(y, x / aspect) * np.array([aspect, 1.0])
        reach *= SHRINK / 2
    return best


def _free_about(edges: Array, u: float, low: Array, high: Array) -> tuple[Array, Array]:
    """Ends of the free intervals that hold a place, in strips from low to high, (S,); 0 where it is not free."""
    upward = edges[:, 0, 1] <= edges[:, 1, 1]
    lower, upper = (np.where(upward[:, None], edges[:, a], edges[:, b]) for a, b in ((0, 1), (1, 0)))
    near = (upper[:, 1] > low.min()) & (lower[:, 1] < high.max())
    lower, upper = lower[near], upper[near]
    low, high = low[:, None], high[:, None]
    meets = (upper[:, 1] > low) & (lower[:, 1] < high)
    rise = upper[:, 1] - lower[:, 1]
    slope = (upper[:, 0] - lower[:, 0]) / np.where(rise > 0, rise, np.inf)
    first = lower[:, 0] + (np.maximum(low, lower[:, 1]) - lower[:, 1]) * slope
    last = np.where(
        rise > 0, lower[:, 0] + (np.minimum(high, upper[:, 1]) - lower[:, 1]) * slope, upper[:, 0]
    )
    left, right = np.minimum(first, last), np.maximum(first, last)
    start = np.where(meets & (right <= u), right, -np.inf).max(axis=1, initial=-np.inf)
    end = np.where(meets & (left >= u), left, np.inf).min(axis=1, initial=np.inf)
    free = ~(meets & (left < u) & (right > u)).any(axis=1) & np.isfinite(start) & np.isfinite(end)
    return np.where(free, start, 0.0), np.where(free, end, 0.0)


def _on_sky(half: Array, basis: Array, orientation: Orientation) -> Rectangle:
    """Return the rectangle of half sizes in a plane that touches the sky at its centre."""
    width_deg, height_deg = (2 * math.degrees(steady.arctan(size)) for size in half.tolist())
    ra_deg, dec_deg = (float(value) for value in vector_to_sky(basis[2]))
    common = orientation.is_common
    angle_deg = orientation.angle_deg if common else float(basis_position_angle_deg(basis))
    return Rectangle((ra_deg, dec_deg), width_deg, height_deg, angle_deg % 360.0)

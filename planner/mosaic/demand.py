"""What a plan must give: panels of some shape, and the box that must fit into one of them around every point.

The overlap asked for is one demand: full panels, boxes of that fraction of a panel. The errors of the real mount
are another: the part of a panel that stays covered however it is off, and boxes of the least overlap that must
remain. A layout, a search and the proof take a tuple of demands and must meet them all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import steady

from .panel import Field

__all__ = ["Demand", "kept_shape", "overlap_demand", "with_hair"]

LAYOUT_HAIR = 2e-9
"""Radians (0.4 milliarcseconds) by which layouts are better than asked."""

ARC_PIECES = 4
"""Chords that stand for the arc that a turning side sweeps; they run inside it."""


@dataclass(frozen=True)
class Demand:
    """A convex panel shape, symmetric about both axes, and the half sizes of the box that must fit into it.

    Parameters
    ----------
    shape : tuple of (float, float)
        Corners in the panel's tangent plane (x left, y up), counter-clockwise as a plane figure.
    box : (float, float)
        Half sizes in the same plane, at least 0. A point of the region is served by a panel if the box around
        it, cut with the region, lies whole inside the panel's shape.
    """

    shape: tuple[tuple[float, float], ...]
    box: tuple[float, float]

    @cached_property
    def half_planes(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Outward unit normals (K, 2) and distances (K,): the shape is {p: normals @ p <= distances}."""
        corners = np.array(self.shape)
        along = np.roll(corners, -1, axis=0) - corners
        normals = np.stack([along[:, 1], -along[:, 0]], axis=-1)
        normals /= steady.hypot(*normals.T)[:, None]
        return normals, steady.dot(normals, corners)

    @cached_property
    def half_size(self) -> tuple[float, float]:
        """Half extents of the shape along x and y."""
        return max(x for x, _ in self.shape), max(y for _, y in self.shape)

    def core_corners(self, trim: float = 0.0) -> NDArray[np.float64]:
        """Corners, shape (K, 2), of the points whose box lies in the shape; none if there are no such points.

        Parameters
        ----------
        trim : float
            Distance that is taken off every side in addition.
        """
        normals, distances = self.half_planes
        room = distances - steady.dot(np.abs(normals), self.box) - trim
        if room.min() <= 0:
            return np.zeros((0, 2))
        polar = normals / room[:, None]  # the hull of the polar points is the polar of the intersection
        hull = np.asarray(shapely.convex_hull(shapely.MultiPoint(polar)).exterior.coords)
        edge = np.diff(hull, axis=0)
        outward = np.stack([edge[:, 1], -edge[:, 0]], axis=-1)
        return np.asarray(outward / np.sum(outward * hull[:-1], axis=-1, keepdims=True))

    @cached_property
    def core(self) -> tuple[float, float]:
        """Half sizes of a large rectangle of points that are served far from the region's rim; (0, 0) if none."""
        corners = np.abs(self.core_corners())
        if not len(corners):
            return 0.0, 0.0
        a, b = corners[np.argmax(corners[:, 0] * corners[:, 1])]
        return float(a), float(b)

    def with_box(self, box: tuple[float, float]) -> Demand:
        """Return the same shape with another box."""
        return Demand(self.shape, box)


def with_hair(demands: Sequence[Demand]) -> tuple[Demand, ...]:
    """Demands for a hair more, for which layouts are made: rounding the panels' centres breaks no promise then."""
    return tuple(d.with_box((d.box[0] + LAYOUT_HAIR, d.box[1] + LAYOUT_HAIR)) for d in demands)


def overlap_demand(field: Field, overlap: float) -> Demand:
    """Full panels and boxes of a fraction of them, the usual overlap of neighbours.

    Parameters
    ----------
    field : Field
    overlap : float
        Fraction of each side, in [0, 1).
    """
    return Demand(field.shape, (overlap * field.half_width, overlap * field.half_height))


def kept_shape(field: Field, *, shift_rad: float, turn_rad: float) -> tuple[tuple[float, float], ...]:
    """Corners of the part of a panel that stays covered however the panel is off; empty if nothing stays.

    A point stays inside under every turn up to `turn_rad` about the centre followed by every shift up to
    `shift_rad` on the sphere if it keeps that angular distance from every turned side. A side is a great circle
    at tangent plane distance h; the sine of a point's distance from it is (h - x) / sqrt((1 + h^2)(1 + r^2)),
    r the point's distance from the centre, so the side moves inwards by at most
    sin(shift) sqrt((1 + h^2)(1 + r_corner^2)). A turning side sweeps an arc of radius h about the centre, for
    which chords stand here. So the shape lies inside the exact one, within 0.1 per cent of the shift for fields
    of a few degrees.
    """
    a, b = field.half_width, field.half_height
    push = steady.sin(shift_rad) * math.sqrt(1 + a * a + b * b)
    a, b = a - push * math.sqrt(1 + a * a), b - push * math.sqrt(1 + b * b)
    if a <= 0 or b <= 0 or turn_rad >= math.pi / 4:
        return ()
    quarter = _turned_quarter(a, b, turn_rad)
    if not quarter:
        return ()
    left = [(-x, y) for x, y in reversed(quarter)]
    upper = _without_repeats(quarter + left)
    return tuple(_without_repeats(upper + [(-x, -y) for x, y in upper]))


def _turned_quarter(a: float, b: float, turn: float) -> list[tuple[float, float]]:
    """Corners in the first quadrant, from the x axis to the y axis, of the points kept under turns."""
    if turn == 0:
        return [(a, b)]
    cos, sin = steady.cos_sin(turn)
    corner = ((a * cos - b * sin) / steady.cos(2 * turn), (b * cos - a * sin) / steady.cos(2 * turn))
    steps = np.linspace(0.0, turn, ARC_PIECES + 1)
    if corner[1] <= a * sin or corner[0] <= b * sin:  # one pair of sides alone decides: keep a disc
        radius = min(a, b)
        angles = np.linspace(0.0, math.pi / 2, 8 * ARC_PIECES + 1)
        return [(radius * steady.cos(t), radius * steady.sin(t)) for t in angles]
    right = [(a * steady.cos(t), a * steady.sin(t)) for t in steps]
    top = [(b * steady.sin(t), b * steady.cos(t)) for t in reversed(steps)]
    return [*right, corner, *top]


def _without_repeats(corners: list[tuple[float, float]]) -> list[tuple[float, float]]:
    before = zip(corners, [corners[-1], *corners[:-1]], strict=True)
    kept = [p for p, q in before if steady.hypot(p[0] - q[0], p[1] - q[1]) > 1e-13]
    return kept or corners[:1]

"""Where a field's centre may lie, cut into cells: supports of things, and margins of sets, in each cell's plane.

A field whose centre lies within a cell is, in the tangent plane at the cell's middle, nearly the rectangle that it is
in its own plane, moved: a point (x, y) of it, with the centre at (d, 0), comes to (x + d) / (1 - x d) and
y sqrt(1 + d^2) / (1 - x d). So margins of sets follow from their supports alone, right to a slack that shrinks with
the cell.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky

from .best import Arc
from .opening import Opening

__all__ = ["DIRECTIONS", "ROUNDING", "Cell", "Supports", "Things", "bent"]

Array = NDArray[np.float64]
Supports = NDArray[np.float32] | NDArray[np.float64]
DIRECTIONS = 1440
"""A quarter of a degree apart; sets are looked at at every one of these angles in half a turn."""
ROUNDING = 1e-7
"""Supports are kept in single precision."""


@dataclass(frozen=True, eq=False)
class Things:
    """Corners of all things, one after the other.

    Parameters
    ----------
    corners : ndarray, shape (N, 3)
        Unit vectors.
    starts : ndarray of int, shape (T,)
        Where each thing begins.
    """

    corners: Array
    starts: NDArray[np.int64]

    @classmethod
    def of(cls, things: Sequence[Array]) -> Things:
        """Return things one after the other."""
        counts = [len(one) for one in things]
        return cls(np.concatenate(list(things)), np.cumsum([0, *counts[:-1]]))

    def within(self, middle: Array, reach_rad: float) -> NDArray[np.int64]:
        """Return which things lie wholly within a circle."""
        depth = np.minimum.reduceat(self.corners @ middle, self.starts)
        return np.flatnonzero(depth > math.cos(min(1.5, reach_rad)))

    def supports(self, which: NDArray[np.int64], basis: Array) -> Array:
        """How far some things reach in each direction of a tangent plane, shape (K, DIRECTIONS)."""
        ends = np.append(self.starts, len(self.corners))
        taken = np.concatenate([np.arange(ends[k], ends[k + 1]) for k in which])
        counts = ends[which + 1] - ends[which]
        ahead = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
        plane = vector_to_plane(self.corners[taken], basis) @ np.stack([np.cos(ahead), np.sin(ahead)])
        return np.asarray(np.maximum.reduceat(plane, np.cumsum([0, *counts[:-1]]), axis=0))


@dataclass(frozen=True, eq=False)
class Cell:
    """A square of centres, about a place in the root's tangent plane.

    Parameters
    ----------
    things : Things
    opening : Opening
        Room counted as margin.
    root : ndarray, shape (3, 3)
        Basis at the middle of the first thing.
    place : (float, float)
        The square's middle in the root's plane.
    half : float
        Half its side there.
    arcs : sequence of (float, float), optional
        Position angles allowed, first and span, radians.
    """

    things: Things
    opening: Opening
    root: Array
    place: tuple[float, float]
    half: float
    arcs: Sequence[Arc] | None = None

    @property
    def reach(self) -> float:
        """How far a centre may lie from the cell's middle, tangent plane (not farther than in the root's)."""
        return math.tan(min(1.4, self.half * math.sqrt(2)))

    @property
    def size(self) -> float:
        """Half a field's diagonal, tangent plane."""
        return math.hypot(*self.opening.half)

    @cached_property
    def basis(self) -> Array:
        """At the cell's middle, position angle 0."""
        return sky_basis(*vector_to_sky(plane_to_vector(list(self.place), self.root)), 0.0)

    @property
    def slack(self) -> float:
        """By how much a margin in the plane may be off: by the bent rectangle, and by angles between those tried."""
        return self.bent + self.size * math.pi / DIRECTIONS + ROUNDING

    @property
    def bent(self) -> float:
        """By how much a margin at an angle may be off."""
        return float(bent(self.size, np.array(self.reach)))

    @cached_property
    def angles(self) -> NDArray[np.int64]:
        """Angles in the plane that may be allowed ones at a field's own centre, in steps of DIRECTIONS."""
        step = 2 * np.pi / DIRECTIONS
        angles = step * np.arange(DIRECTIONS // 2)
        if self.arcs is None:
            return np.arange(DIRECTIONS // 2)
        away = math.acos(min(1.0, abs(float(self.basis[2, 2])))) - self.reach
        spare = step + (math.pi if away <= 0 else min(math.pi, self.reach / math.tan(away)))
        allowed = np.zeros(len(angles), dtype=bool)
        for start, span in self.arcs:
            allowed |= (angles - start + spare) % np.pi <= span + 2 * spare
        return np.flatnonzero(allowed)

    @property
    def angles_rad(self) -> Array:
        """The same in radians."""
        return np.asarray(2 * np.pi / DIRECTIONS * self.angles, dtype=np.float64)

    @cached_property
    def near(self) -> NDArray[np.int64]:
        """Things that a field of the cell could hold."""
        return self.things.within(self.basis[2], math.atan(self.size) + math.atan(self.reach))

    @cached_property
    def supports(self) -> Supports:
        """How far near things reach to the left, right, up and down at the angles, shape (K, 4, A)."""
        return self.things.supports(self.near, self.basis).astype(np.float32)[:, self.sides]

    @cached_property
    def sides(self) -> NDArray[np.int64]:
        """Directions in which left, right, up and down lie at the angles, shape (4, A)."""
        left, quarter = -self.angles, DIRECTIONS // 4
        return np.stack([left, left + 2 * quarter, left + quarter, left - quarter]) % DIRECTIONS

    def margins(self, supports: Supports) -> Supports:
        """Largest margins of fields of the cell that sets with these supports (..., 4, A) leave, shape (..., A)."""
        across = supports[..., 0::2, :] + supports[..., 1::2, :]
        astray = np.abs(supports[..., 0::2, :] - supports[..., 1::2, :]) / 2 - np.float32(self.reach)
        half = np.array(self.opening.half, dtype=np.float32)[:, None]
        rooms = half - across / 2 - np.maximum(astray, 0)
        return np.asarray(np.minimum(rooms[..., 0, :], rooms[..., 1, :]))

    def held(self, supports: Supports, joins: Supports, margins: Supports) -> NDArray[np.bool_]:
        """Which things join a set, and all that grows from it, at no cost: shape (K,).

        Parameters
        ----------
        supports, margins : ndarray, shapes (4, A) and (A,)
            Of the set.
        joins : ndarray, shape (K, 4, A)
            Of the things.
        """
        half = np.repeat(np.array(self.opening.half, dtype=np.float32), 2)[:, None]
        spare = half - np.float32(self.reach + self.slack) - margins
        return np.asarray(((joins <= np.maximum(supports, spare)) | (margins < -self.slack)).all(axis=(1, 2)))

    def parts(self) -> Iterator[Cell]:
        """Yield the cell's four quarters, but those too far out to hold the first thing's middle."""
        quarter = self.half / 2
        for x in (-quarter, quarter):
            for y in (-quarter, quarter):
                place = (self.place[0] + x, self.place[1] + y)
                if math.hypot(*place) - quarter * math.sqrt(2) <= self.size:
                    yield Cell(self.things, self.opening, self.root, place, quarter, self.arcs)


def bent(size: float, away: Array) -> Array:
    """By how much the sides of a field are off the rectangle's, in the tangent plane at a place away from its centre.

    Parameters
    ----------
    size : float
        Half its diagonal, tangent plane.
    away : ndarray
        Distances, tangent plane.
    """
    return np.asarray((away * size * (size + away) + size * away**2) / np.maximum(0.05, 1 - size * away))

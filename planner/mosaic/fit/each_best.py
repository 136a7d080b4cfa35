"""The best placement of each of many shapes, over all centres and angles, all in one sweep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import basis_position_angle_deg, wrapped_deg
from planner.progress import Progress

from .batches import alike, centered, corners_of
from .best import Arc, Placement, best_placement, placement_of
from .centers import best_centers
from .curve import STEEP
from .many import pole_distances
from .opening import Opening
from .shape import Shape
from .sides import Sides

__all__ = ["EachBest", "best_of_each", "flat_rooms"]

Array = NDArray[np.float64]
STEP_DEG = 1.0
ANGLES = 180
MOST_CORNERS = 20_000
TOPS = 2
"""So many of the highest tops of the flat curve are climbed."""
ROUNDS = 6
"""A quarter of the step before each: the last is 0.00024 degrees."""
ROUNDS_FIRST = 3
"""So often a field is moved to the middle of its shape; once after each small turn."""
AROUND = (-0.75, -0.5, -0.25, 0.25, 0.5, 0.75)
BENT = 3.0
"""Of the cubed radius: by so much rooms in a plane may be off."""
NEAR_POLE = STEEP
"""Where only some angles are allowed, shapes within so many of their radii of a pole are searched one by one."""


@dataclass(frozen=True)
class EachBest:
    """The best placement of one shape, and between what its room lies whatever the angle.

    Parameters
    ----------
    placement : Placement
    least, most : float
        No angle leaves less room than the one at its best centre, none more than the other.
    spread : float
        By how much the room changes with the angle, as seen in a plane.
    """

    placement: Placement
    least: float
    most: float
    spread: float


def best_of_each(
    shapes: Sequence[Shape],
    opening: Opening,
    arcs: Sequence[Arc] | None = None,
    *,
    progress: Progress | None = None,
) -> tuple[EachBest, ...]:
    """Return the best placement of each shape over all centres and angles: what `best_placement` gives, sooner.

    In a plane the room against the angle follows from the shape's widths alone; its tops are climbed with fields in
    the middle of the shape on the sphere, and the best of them is moved to where the least room is largest.

    Parameters
    ----------
    shapes : sequence of Shape
    opening : Opening
    arcs : sequence of (float, float), optional
        Position angles allowed (first and span, radians), modulo half a turn; all of them where left out.
    progress : callable, optional
    """
    found: dict[int, EachBest] = {}
    for some in alike(shapes, range(len(shapes)), MOST_CORNERS):
        if progress is not None:
            progress("fitting frames", len(found) / len(shapes))
        found.update(zip(some, _best([shapes[k] for k in some], opening, arcs), strict=True))
    return tuple(found[k] for k in range(len(shapes)))


def _best(shapes: Sequence[Shape], opening: Opening, arcs: Sequence[Arc] | None) -> list[EachBest]:
    radii = np.array([one.radius_rad for one in shapes])
    curve = flat_rooms(corners_of([one.local for one in shapes]), opening)
    if arcs is None:
        placements = _best_anywhere(shapes, opening, curve)
    else:
        placements = _best_on_arcs(shapes, opening, curve, arcs)
    slack = (BENT * radii**3 + np.radians(STEP_DEG / 2) * radii) / opening.units.min()
    low, high = curve.min(axis=1), curve.max(axis=1)
    most = np.maximum(high + slack, [one.room for one in placements])
    rows = zip(placements, (low - slack).tolist(), most.tolist(), (high - low).tolist(), strict=True)
    return [EachBest(*row) for row in rows]


def _best_anywhere(shapes: Sequence[Shape], opening: Opening, curve: Array) -> list[Placement]:
    """Search in each shape's own system, where no pole is near, and name the places found in ICRS."""
    corners = corners_of([one.local for one in shapes])
    radii = np.array([one.radius_rad for one in shapes])
    middles = np.repeat(np.array([[1.0, 0.0, 0.0]]), len(shapes), axis=0)
    placed = _highest(_Search(corners, opening, middles), curve, _is_top(curve))
    placed = best_centers(corners, opening, placed.centers, placed.angles_rad, radii / 10)
    on_sky = _turned(placed, np.stack([one.rotation for one in shapes]))
    return [placement_of(on_sky, k) for k in range(len(shapes))]


def _best_on_arcs(
    shapes: Sequence[Shape], opening: Opening, curve: Array, arcs: Sequence[Arc]
) -> list[Placement]:
    """Search at the angles allowed alone: at tops between the ends of arcs, and at these ends."""
    corners = corners_of([one.corners for one in shapes])
    radii = np.array([one.radius_rad for one in shapes])
    search = _Search(corners, opening, np.stack([one.basis[2] for one in shapes]), tuple(arcs))
    turns = np.radians(STEP_DEG * np.arange(ANGLES))
    allowed = np.abs(wrapped_deg(np.degrees(search.allowed(turns) - turns), 180.0)) < 1e-9
    best = _highest(search, curve, _is_top(curve) & allowed)
    for end in (end for start, span in arcs for end in (start, start + span)):
        one = _top(search, np.full(len(shapes), end))
        best = one.taken_where(one.room > best.room, best)
    placed = best_centers(corners, opening, best.centers, best.angles_rad, radii / 10)
    near = pole_distances(shapes) < NEAR_POLE
    return [
        best_placement(shapes[k], opening, arcs) if near[k] else placement_of(placed, k)
        for k in range(len(shapes))
    ]


@dataclass(frozen=True, eq=False)
class _Search:
    """Fields in the middle of shapes, at angles on arcs where there are any."""

    corners: Array
    opening: Opening
    middles: Array
    arcs: tuple[Arc, ...] | None = None

    def allowed(self, angles_rad: Array) -> Array:
        """Return the nearest allowed angles."""
        if self.arcs is None:
            return angles_rad
        tries = np.stack([self._on_arc(angles_rad, arc) for arc in self.arcs])
        off = np.abs(wrapped_deg(np.degrees(tries - angles_rad), 180.0))
        return np.asarray(np.take_along_axis(tries, off.argmin(axis=0)[None], axis=0)[0])

    @staticmethod
    def _on_arc(angles_rad: Array, arc: Arc) -> Array:
        start, span = arc
        ahead = (angles_rad - start) % np.pi
        nearer_start = ahead - span > np.pi - ahead
        return np.asarray(start + np.where(ahead <= span, ahead, np.where(nearer_start, 0.0, span)))

    def placed(self, centers: Array, angles_rad: Array, *, rounds: int) -> Sides:
        """Fields in the middle of the shapes at the nearest allowed angles."""
        return centered(self.corners, self.opening, centers, self.allowed(angles_rad), rounds=rounds)


def flat_rooms(corners: Array, opening: Opening) -> Array:
    """Room against the angle in the plane at each shape's middle, a degree apart, shape (K, ANGLES)."""
    flat = corners[..., 1:] / corners[..., :1]
    turns = np.radians(STEP_DEG * np.arange(ANGLES))
    across = flat @ np.stack([np.cos(turns), -np.sin(turns)])
    wide = across.max(axis=1) - across.min(axis=1)
    high = np.roll(wide, -ANGLES // 2, axis=1)
    sizes = opening.sizes
    return np.asarray(
        np.minimum(sizes[0] - wide / (2 * opening.units[0]), sizes[2] - high / (2 * opening.units[2]))
    )


def _is_top(curve: Array) -> NDArray[np.bool_]:
    return np.asarray((curve >= np.roll(curve, 1, axis=1)) & (curve >= np.roll(curve, -1, axis=1)))


def _highest(search: _Search, curve: Array, tops: NDArray[np.bool_]) -> Sides:
    """Return the field in the middle of each shape at the best of its tops."""
    order = np.argsort(-np.where(tops, curve, curve - 1e9), axis=1, kind="stable")[:, :TOPS]
    best: Sides | None = None
    for chosen in order.T:
        one = _top(search, np.radians(STEP_DEG * chosen))
        best = one if best is None else one.taken_where(one.room > best.room, best)
    assert best is not None
    return best


def _top(search: _Search, angles_rad: Array) -> Sides:
    """Climb from angles to the top nearby, each shape from one."""
    best = search.placed(search.middles, angles_rad, rounds=ROUNDS_FIRST)
    step = math.radians(STEP_DEG)
    for _ in range(ROUNDS):
        begin = best
        for beside in AROUND:
            one = search.placed(best.centers, begin.angles_rad + step * beside, rounds=1)
            best = one.taken_where(one.room > best.room, best)
        step /= 4
    return search.placed(best.centers, best.angles_rad, rounds=ROUNDS_FIRST)


def _turned(placed: Sides, rotations: Array) -> Sides:
    """Return fields of the shapes' own systems with their centres and angles in ICRS."""
    center = np.einsum("kj,kji->ki", placed.centers, rotations)
    axes = np.einsum("kaj,kji->kai", placed.axes, rotations)
    angles = np.radians(basis_position_angle_deg(np.concatenate([axes, center[:, None]], axis=1)))
    return Sides(center, angles, axes, placed.touching, placed.rooms, placed.nearest)

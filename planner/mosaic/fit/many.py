"""The room that each of many shapes leaves at one angle of the camera, all in one sweep."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .batches import alike, centered, corners_of
from .best import Placement, placement_at, placement_of
from .centers import best_centers
from .curve import BENT, STEEP
from .opening import Opening
from .shape import Shape
from .sides import Sides

__all__ = ["pole_distances", "placements_at"]

Array = NDArray[np.float64]
MOST_CORNERS = 300_000
"""Corners of so many shapes are worked on at a time."""
BESIDE_RAD = np.radians([0.0, -2.0, -1.0, 1.0, 2.0])
"""Where meridians converge, searches begin at the centres for these angles beside the one asked for too."""


def placements_at(shapes: Sequence[Shape], opening: Opening, angle_rad: float) -> tuple[Placement, ...]:
    """Return the best placement of each shape at one position angle: what `placement_at` gives, sooner.

    Shapes of like counts of corners are searched together; those about a pole, one by one.

    Parameters
    ----------
    shapes : sequence of Shape
    opening : Opening
    angle_rad : float
    """
    distances = pole_distances(shapes)
    found = {}
    for low, high, beside in ((STEEP, BENT, BESIDE_RAD), (BENT, math.inf, BESIDE_RAD[:1])):
        which = np.flatnonzero((distances >= low) & (distances < high)).tolist()
        for some in alike(shapes, which, MOST_CORNERS // len(beside)):
            placed = _placed(shapes, some, opening, angle_rad, beside)
            found.update({k: placement_of(placed, row) for row, k in enumerate(some)})
    for k in set(range(len(shapes))) - found.keys():
        found[k] = placement_at(shapes[k], opening, angle_rad)
    return tuple(found[k] for k in range(len(shapes)))


def pole_distances(shapes: Sequence[Shape]) -> Array:
    """Sine of how far each shape's middle lies from the nearer pole, in radii of the shape."""
    return np.array([math.hypot(*one.basis[2][:2]) / max(one.radius_rad, 1e-9) for one in shapes])


def _placed(
    shapes: Sequence[Shape], some: list[int], opening: Opening, angle_rad: float, beside: Array
) -> Sides:
    """Fields in the middle of their shapes, then moved to where the least room is largest."""
    corners = corners_of([shapes[k].corners for k in some])
    middles = np.stack([shapes[k].basis[2] for k in some])
    radii = np.array([shapes[k].radius_rad for k in some])
    angles = np.full(len(some), angle_rad)
    tries = []
    for turn in beside:
        began = centered(corners, opening, middles, angles + turn)
        placed = centered(corners, opening, began.centers, angles) if turn else began
        tries.append(
            best_centers(corners, opening, placed.centers, angles, np.maximum(radii, min(opening.half)) / 10)
        )
    best = tries[0]
    for other in tries[1:]:
        best = other.taken_where(other.room > best.room, best)
    return best

"""The room that each of many shapes leaves at one angle of the camera, all in one sweep."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from .best import Placement, placement_at, placement_of
from .centers import best_centers
from .curve import is_straight, reach_of
from .opening import Opening
from .shape import Shape

__all__ = ["placements_at"]

MOST_CORNERS = 300_000
"""Corners of so many shapes are worked on at a time."""


def placements_at(shapes: Sequence[Shape], opening: Opening, angle_rad: float) -> tuple[Placement, ...]:
    """Return the best placement of each shape at one position angle: what `placement_at` gives, sooner.

    Shapes of like counts of corners are searched together; those so near a pole that one search is not enough, one
    by one.

    Parameters
    ----------
    shapes : sequence of Shape
    opening : Opening
    angle_rad : float
    """
    straight = [k for k, one in enumerate(shapes) if is_straight(one, opening)]
    found = {}
    for some in _alike(shapes, straight):
        corners = _padded([shapes[k].corners for k in some])
        middles = np.stack([shapes[k].basis[2] for k in some])
        reaches = np.array([reach_of(shapes[k], opening) for k in some])
        placed = best_centers(corners, opening, middles, np.full(len(some), angle_rad), reaches)
        found.update({k: placement_of(placed, row) for row, k in enumerate(some)})
    for k in set(range(len(shapes))) - found.keys():
        found[k] = placement_at(shapes[k], opening, angle_rad)
    return tuple(found[k] for k in range(len(shapes)))


def _alike(shapes: Sequence[Shape], which: Sequence[int]) -> Iterator[list[int]]:
    """Yield shapes that are worked on together, those with the fewest corners first."""
    some: list[int] = []
    for k in sorted(which, key=lambda k: len(shapes[k].corners)):
        count = len(shapes[k].corners)
        if some and (count * (len(some) + 1) > MOST_CORNERS or count > 2 * len(shapes[some[0]].corners) + 8):
            yield some
            some = []
        some.append(k)
    if some:
        yield some


def _padded(corners: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Corners of all in one array, shape (K, N, 3); the first stands for those that are missing."""
    most = max(map(len, corners))
    return np.stack([np.concatenate([one, np.repeat(one[:1], most - len(one), axis=0)]) for one in corners])

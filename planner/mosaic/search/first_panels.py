"""Panels laid from a front inwards: the foremost point that is still unserved comes next.

Among the places that serve it the panel takes the one that serves most besides, and what lies near the front counts
most, so that no slivers stay behind. This takes milliseconds, knows nothing of rows, and so serves around poles and
for regions of any shape. The points are a sample of the region: a proof has the last word.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from planner.geometry import steady

from .served.ground import Ground

__all__ = ["FRONTS", "laid_from"]

Array = NDArray[np.float64]
FRONTS = 5
"""Fronts there are: from outside inwards, and along both axes both ways."""
DECIMALS = 11
"""Of depths, so that no last digits decide which of two points comes first."""
FINEST = 1e6
"""The greatest weight; all are whole."""
DECAY = 0.5
"""Weights fall by e over this part of a panel's short side."""


def laid_from(ground: Ground, front: int, most: int) -> Array:
    """Places (N, 2) of panels that serve all points of a ground, or of the first so many.

    Parameters
    ----------
    ground : Ground
    front : int
        Which front, from 0 up to `FRONTS`.
    most : int
    """
    depth = _depth(ground.spots, front) / (DECAY * 2 * ground.size)
    weights = np.ceil(FINEST * steady.exp(depth - depth.max())).astype(np.int64)
    left = np.ones(len(depth), dtype=bool)
    found: list[Array] = []
    for point in _foremost(depth, left, most):
        near = ground.near(point)
        near = near[left[near]]
        _, places = ground.best_places(point, near, weights[near], np.full(len(near), -1), 1)
        found.append(ground.settled(places[0], near))
        left &= ~ground.served(found[-1][None])[0]
        left[point] = False
    return np.array(found).reshape(-1, 2)


def _foremost(depth: Array, left: NDArray[np.bool_], most: int) -> Iterator[int]:
    """Unserved points, the foremost first, as long as there are any."""
    order = np.argsort(-depth, kind="stable")
    count = 0
    for point in order.tolist():
        if left[point]:
            yield point
            count += 1
            if count == most:
                return


def _depth(spots: Array, front: int) -> Array:
    """How far to the front points lie."""
    if front:
        axis, sign = divmod(front - 1, 2)
        return np.asarray(spots[:, axis] * (1.0, -1.0)[sign])
    middle = (spots.max(axis=0) + spots.min(axis=0)) / 2
    return np.asarray(np.round(steady.hypot(*(spots - middle).T), DECIMALS))

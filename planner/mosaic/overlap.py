"""The overlap that a plan really has: the largest box that still fits everywhere."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from planner.geometry import plane_to_vector

from .demand import Demand
from .proof import Cover, Gap

__all__ = ["largest_box"]

PRECISION = 1e-6
"""The result is at most this part of the cap below the truth."""
STEPS = 40
"""Most proofs spent on one result."""


def largest_box(
    cover: Cover,
    shape: tuple[tuple[float, float], ...],
    unit_box: tuple[float, float],
    *,
    expected: float,
    cap: float,
) -> float:
    """Largest multiple of a box that fits everywhere, as a proven lower bound.

    Gaps grow with the box, so only panels at the gaps of the last failing box can decide: each step proves that
    neighbourhood again with a smaller box. The next box is guessed from the depth of the deepest gap, which
    shrinks by the box's half width or height.

    Parameters
    ----------
    cover : Cover
    shape : corners of the panels' convex shape in their tangent planes
    unit_box : (float, float)
        Half sizes of the box of multiple 1.
    expected : float
        Where to look first; if it holds, the result is not less.
    cap : float
        Never return more than this.

    Returns
    -------
    float
        In [0, cap]; 0 where even points are not served.
    """
    low, high, gap = _bracket(cover, shape, unit_box, min(expected, cap), cap)
    for _ in range(STEPS if gap else 0):
        if high - low <= PRECISION * cap:
            break
        for guess in _guesses(gap, unit_box, low, high, cap):
            if guess >= high:
                continue
            left = _smaller_gap(cover, _scaled(shape, unit_box, guess), gap)
            if not left:
                low = guess
                break
            high, gap = guess, left
    return low


def _bracket(
    cover: Cover,
    shape: tuple[tuple[float, float], ...],
    unit_box: tuple[float, float],
    first: float,
    cap: float,
) -> tuple[float, float, Gap]:
    """Return a multiple that holds (0 if none does), one that fails, and the gap that it leaves."""
    low, trial = 0.0, first
    gap = cover.gap(_scaled(shape, unit_box, trial))
    while not gap and trial < cap:
        low, trial = trial, min(cap, 1.1 * trial + 0.01 * cap)
        gap = cover.gap(_scaled(shape, unit_box, trial))
    if not gap:
        return cap, cap, gap
    if low == 0.0 and (rest := _smaller_gap(cover, _scaled(shape, unit_box, 0.0), gap)):
        return 0.0, 0.0, rest
    return low, trial, gap


def _scaled(shape: tuple[tuple[float, float], ...], unit_box: tuple[float, float], scale: float) -> Demand:
    return Demand(shape, (scale * unit_box[0], scale * unit_box[1]))


def _guesses(gap: Gap, unit_box: tuple[float, float], low: float, high: float, cap: float) -> Iterator[float]:
    """Promising multiples between low and high, the middle last."""
    depth, step = gap.depth_rad, PRECISION * cap / 2
    for side in sorted(unit_box, reverse=True):
        for offset in (step, -step):
            yield max(high - depth / side + offset, low + step)
    yield (low + high) / 2


def _smaller_gap(cover: Cover, demand: Demand, gap: Gap) -> Gap:
    """Return what remains of a gap under a smaller box."""
    reach = math.atan(math.hypot(*demand.half_size)) + 1e-6
    x0, y0, x1, y1 = shapely.bounds(np.array(gap.parts)).T
    points = np.stack([np.stack([x, y], axis=-1) for x in (x0, x1) for y in (y0, y1)], axis=1)
    vectors = plane_to_vector(points, cover.region.frame)
    middle = vectors.mean(axis=1)
    middle /= np.linalg.norm(middle, axis=-1, keepdims=True)
    radius = np.arccos(np.clip(np.einsum("gkj,gj->gk", vectors, middle).min(axis=1), -1, 1))
    near = cover.frames[:, 2] @ middle.T > np.cos(np.minimum(reach + radius, math.pi))
    return cover.gap(demand, within=gap.shapes, panels=list(np.flatnonzero(near.any(axis=1))))

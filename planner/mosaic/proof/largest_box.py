"""The overlap that a plan really has: the largest box that still fits everywhere.

Where even the cap fits, all that belongs together lies whole in one panel: there are no seams.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from planner.geometry import plane_to_vector, steady
from planner.mosaic.demand import Demand

from .cover import Cover, Gap

__all__ = ["largest_box"]

PRECISION = 1e-6
"""The result is at most this part of the cap below the truth."""
STEPS, SECANTS = 40, 12
"""Most proofs spent on one gap; from so many on they halve what is open."""
LEAST_SLOPE = 1e-3
"""A gap's depth is taken to fall at least by this part of the box's half size."""


def largest_box(
    cover: Cover,
    shape: tuple[tuple[float, float], ...],
    unit_box: tuple[float, float],
    *,
    expected: float,
    cap: float,
) -> float:
    """Largest multiple of a box that fits everywhere, as a proven lower bound.

    Gaps grow with the box, so only what a failing box leaves can decide. The box is made smaller until the deepest
    of its gaps closes, which takes the few panels around it; then all of its gaps are proven again with that box.

    Parameters
    ----------
    cover : Cover
    shape : corners of the panels' convex shape in their tangent planes
    unit_box : (float, float)
        Half sizes of the box of multiple 1.
    expected : float
        If this holds, the result is not less.
    cap : float
        Never return more than this.

    Returns
    -------
    float
        In [0, cap]; 0 where even points are not served.
    """
    low, high = 0.0, _higher(expected, cap)
    gap = cover.gap(_scaled(shape, unit_box, high))
    while not gap and high < cap:
        low, high = high, _higher(high, cap)
        gap = cover.gap(_scaled(shape, unit_box, high))
    if not gap:
        return cap
    while high - low > PRECISION * cap:
        trial, high = _closing(cover, shape, unit_box, gap, (low, high), expected=expected, cap=cap)
        if trial <= low:
            break
        left = _smaller_gap(cover, _scaled(shape, unit_box, trial), gap)
        if left:
            high, gap = trial, left
        else:
            low = trial
    return low


def _higher(multiple: float, cap: float) -> float:
    return min(cap, 1.1 * multiple + 0.01 * cap)


def _closing(
    cover: Cover,
    shape: tuple[tuple[float, float], ...],
    unit_box: tuple[float, float],
    gap: Gap,
    between: tuple[float, float],
    *,
    expected: float,
    cap: float,
) -> tuple[float, float]:
    """Multiples between two, hardly apart, that close the deepest gap and leave it open; 0 twice if none closes it.

    The depth of a gap falls in step with the box. Where the expected multiple lies between the two, it is tried
    before any smaller one.
    """
    (holds, fails), depth, slope, beside = between, gap.depth_rad, max(unit_box), -PRECISION * cap / 4
    gap = gap.deepest
    for number in range(STEPS):
        if fails - holds <= PRECISION * cap:
            break
        guess = fails - depth / slope + beside
        if number == 0 and guess <= 0.0 and _smaller_gap(cover, _scaled(shape, unit_box, 0.0), gap):
            return 0.0, 0.0
        if not holds < guess < fails or number >= SECANTS:
            guess = (holds + fails) / 2
        if holds < expected < fails:
            guess = max(guess, expected)
        left = _smaller_gap(cover, _scaled(shape, unit_box, guess), gap)
        if not left:
            holds = guess
        elif guess - holds <= PRECISION * cap:  # so near that no step follows
            fails = guess
        else:
            slope = max((depth - left.depth_rad) / (fails - guess), LEAST_SLOPE * max(unit_box))
            fails, gap, depth = guess, left, left.depth_rad
        beside = PRECISION * cap * (-0.25 if left else 0.25)  # from the other side of where the gap closes
    return holds, fails


def _scaled(shape: tuple[tuple[float, float], ...], unit_box: tuple[float, float], scale: float) -> Demand:
    return Demand(shape, (scale * unit_box[0], scale * unit_box[1]))


def _smaller_gap(cover: Cover, demand: Demand, gap: Gap) -> Gap:
    """Return what remains of a gap under a smaller box."""
    reach = cover.reach_rad(demand) + 1e-6
    x0, y0, x1, y1 = shapely.bounds(np.array(gap.parts)).T
    points = np.stack([np.stack([x, y], axis=-1) for x in (x0, x1) for y in (y0, y1)], axis=1)
    vectors = plane_to_vector(points, cover.region.basis)
    middle = vectors.mean(axis=1)
    middle /= np.sqrt(steady.dot(middle, middle))[:, None]
    radius = steady.arccos(np.clip(steady.dot(vectors, middle[:, None]).min(axis=1), -1, 1))
    near = steady.times(cover.bases[:, 2], middle.T) > steady.cos(np.minimum(reach + radius, math.pi))
    return cover.gap(demand, within=gap.shapes, panels=list(np.flatnonzero(near.any(axis=1))))

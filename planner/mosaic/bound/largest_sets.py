"""All largest sets of points that one panel can serve, where its places are rectangles of a chart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["largest_sets"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
SHIFT = 1 << 26


def largest_sets(extent: Array, unit: float, *, outward: bool) -> tuple[Array, NDArray[np.bool_]]:
    """Sets of points whose rectangles have a place in common, none part of another, apart from a few.

    Every such set is met where some rectangle's right end and some rectangle's top end cross. In the strip of
    places on one right end the rectangles are intervals, and a top end closes a largest set of them where a
    bottom end comes next below it; likewise with the axes exchanged. Both must hold.

    Parameters
    ----------
    extent : ndarray, shape (P, 4)
        Least and greatest u, least and greatest v of each point's rectangle.
    unit : float
        Ends are rounded to multiples of this.
    outward : bool
        Whether rectangles grow by the rounding (for bounds) or shrink (for plans).

    Returns
    -------
    ndarray, shape (C, 2)
        Middles of the common places.
    ndarray of bool, shape (C, P)
        The sets.
    """
    down, up = (np.floor, np.ceil) if outward else (np.ceil, np.floor)
    u0, u1, v0, v1 = (
        rounded(extent[:, k] / unit).astype(np.int64) for k, rounded in enumerate((down, up, down, up))
    )
    u_end, v_end = _closing_ends(u0, u1, v0, v1)
    v_too, u_too = _closing_ends(v0, v1, u0, u1)
    key = np.intersect1d(_joined(u_end, v_end), _joined(u_too, v_too))
    u, v = (key // (2 * SHIFT) - SHIFT)[:, None], (key % (2 * SHIFT) - SHIFT)[:, None]
    members = (u0 <= u) & (u <= u1) & (v0 <= v) & (v <= v1)
    _, first = np.unique(np.packbits(members, axis=1), axis=0, return_index=True)
    members = members[first]
    return _middles(members, u0, u1, v0, v1) * unit, members


def _joined(u: Whole, v: Whole) -> Whole:
    return np.asarray((u + SHIFT) * (2 * SHIFT) + v + SHIFT)


def _closing_ends(a0: Whole, a1: Whole, b0: Whole, b1: Whole) -> tuple[Whole, Whole]:
    """Pairs of a greatest a and a greatest b: in the strip on the first, the second closes a largest set."""
    strips = np.unique(a1)
    count = len(a0)
    value, is_end = np.concatenate([b0, b1]), np.repeat([False, True], count)
    order = np.lexsort((is_end, value))
    value, is_end = value[order], is_end[order]
    active = ((a0 <= strips[:, None]) & (strips[:, None] <= a1))[:, order % count]
    last = np.where(active, np.arange(2 * count, dtype=np.int32), np.int32(-1))
    np.maximum.accumulate(last, axis=1, out=last)
    before = last[:, :-1]
    closes = active[:, 1:] & is_end[1:] & (before >= 0) & ~is_end[before]
    strip, event = np.nonzero(closes)
    return strips[strip], value[1:][event]


def _middles(members: NDArray[np.bool_], u0: Whole, u1: Whole, v0: Whole, v1: Whole) -> Array:
    ends = [
        np.where(members, u0, -SHIFT).max(axis=1) + np.where(members, u1, SHIFT).min(axis=1),
        np.where(members, v0, -SHIFT).max(axis=1) + np.where(members, v1, SHIFT).min(axis=1),
    ]
    return np.stack(ends, axis=-1) / 2.0

"""All largest sets of points that one panel can serve, where its places are rectangles of a chart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.geometry import distinct

__all__ = ["largest_sets"]

Array = NDArray[np.float64]
Whole = NDArray[np.int32]
SHIFT = 1 << 26
LOW = np.int32(-SHIFT)


def largest_sets(extent: Array, unit: float) -> tuple[Array, NDArray[np.bool_]]:
    """Sets of points whose rectangles have a place in common, none part of another, apart from a few.

    Every such set is met where some rectangle's right end and some rectangle's top end cross. In the strip of
    places on one right end the rectangles are intervals, and a top end closes a largest set of them where a
    bottom end comes next below it; likewise with the axes exchanged. Both must hold. Then the two ends are the
    least right end and the least top end of the set, so no set is met twice.

    Parameters
    ----------
    extent : ndarray, shape (P, 4)
        Least and greatest u, least and greatest v of each point's rectangle.
    unit : float
        Rectangles grow until their ends are multiples of this.

    Returns
    -------
    ndarray, shape (C, 2)
        Middles of the common places.
    ndarray of bool, shape (C, P)
        The sets.
    """
    u0, v0 = (np.floor(extent[:, k] / unit).astype(np.int32) for k in (0, 2))
    u1, v1 = (np.ceil(extent[:, k] / unit).astype(np.int32) for k in (1, 3))
    u_end, v_end = _closing_ends(u0, u1, v0, v1)
    v_too, u_too = _closing_ends(v0, v1, u0, u1)
    key = np.intersect1d(_joined(u_end, v_end), _joined(u_too, v_too), assume_unique=True)
    u, v = ((part - SHIFT).astype(np.int32) for part in np.divmod(key, 2 * SHIFT))
    across, up = u[:, None], v[:, None]
    members = (u0 <= across) & (across <= u1) & (v0 <= up) & (up <= v1)
    least_u, least_v = (np.where(members, low, LOW).max(axis=1, initial=LOW) for low in (u0, v0))
    return np.stack([least_u + u, least_v + v], axis=-1) / 2.0 * unit, members


def _joined(u: Whole, v: Whole) -> NDArray[np.int64]:
    return (u.astype(np.int64) + SHIFT) * (2 * SHIFT) + v + SHIFT


def _closing_ends(a0: Whole, a1: Whole, b0: Whole, b1: Whole) -> tuple[Whole, Whole]:
    """Pairs of a greatest a and a greatest b: in the strip on the first, the second closes a largest set."""
    strips, count = distinct(a1), len(a0)
    value, is_end = np.concatenate([b0, b1]), np.repeat([False, True], count)
    order = np.lexsort((is_end, value))
    value, is_end, who = value[order], is_end[order], order % count
    first, last = (strips.searchsorted(ends).astype(np.int32)[who] for ends in (a0, a1))
    number = np.arange(len(strips), dtype=np.int32)[:, None]
    met = (first <= number) & (number <= last)
    events = np.flatnonzero(met)  # of all strips, one after the other; each strip begins with a bottom end
    ends = (met & is_end).ravel()[events]
    closing = np.flatnonzero(ends[1:] > ends[:-1]) + 1
    strip, event = np.divmod(events[closing], 2 * count)
    return strips[strip], value[event]

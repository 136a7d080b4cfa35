"""Sky levels of frames, matched where they overlap, so that no seam shows in the preview."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.frames.header.pixels import Window

__all__ = ["CoarseFrame", "matched_levels"]

LEAST_PIXELS = 6
"""Pixels that two frames must share for a comparison."""
MOST_PARTNERS = 30
"""Frames that one frame is compared with; with more, evenly through the list."""


@dataclass(frozen=True)
class CoarseFrame:
    """A frame on a coarse grid: the part of the grid under it and its pixels there, NaN for none."""

    window: Window
    pixels: NDArray[np.float32]


def matched_levels(frames: Sequence[CoarseFrame | None]) -> NDArray[np.float64]:
    """Find the level to subtract from each frame so that overlapping frames agree, in the frames' own units.

    The median difference of every pair is brought to zero by least squares, weighted by the number of common
    pixels; the mean level of frames that hang together stays what it was. None stands for a frame that shows
    nothing: its level is 0.

    Parameters
    ----------
    frames : sequence of CoarseFrame or None, length N

    Returns
    -------
    ndarray, shape (N,)
    """
    pairs = [
        (i, j, *found)
        for i, j in _partners(frames)
        if (found := _difference(frames[i], frames[j])) is not None
    ]
    count = len(frames)
    if not pairs:
        return np.zeros(count)
    first, second = (np.array([pair[k] for pair in pairs]) for k in (0, 1))
    difference, weight = (np.array([pair[k] for pair in pairs], dtype=float) for k in (2, 3))
    return _solved(count, first, second, difference, np.sqrt(weight))


def _solved(
    count: int,
    first: NDArray[np.intp],
    second: NDArray[np.intp],
    difference: NDArray[np.float64],
    weight: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Least squares levels; each group of frames that hang together keeps a mean level of zero."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(len(first)), (first, second)), shape=(count, count))
    group = connected_components(links, directed=False)[1]
    normal = np.zeros((count, count))
    np.add.at(normal, (first, first), weight**2)
    np.add.at(normal, (second, second), weight**2)
    np.add.at(normal, (first, second), -(weight**2))
    np.add.at(normal, (second, first), -(weight**2))
    right = np.zeros(count)
    np.add.at(right, first, weight**2 * difference)
    np.add.at(right, second, -(weight**2) * difference)
    normal += np.equal.outer(group, group) * weight.mean() ** 2  # the mean of each group is zero
    return np.asarray(np.linalg.solve(normal, right), dtype=float)


def _partners(frames: Sequence[CoarseFrame | None]) -> list[tuple[int, int]]:
    """Pairs of frames whose windows meet, limited for every first one."""
    known = np.array([number for number, frame in enumerate(frames) if frame is not None], dtype=int)
    if not len(known):
        return []
    windows = [frames[number].window for number in known]  # type: ignore[union-attr]
    x0, y0 = np.array([(w.column, w.row) for w in windows]).T
    x1, y1 = np.array([(w.column + w.columns, w.row + w.rows) for w in windows]).T
    pairs = []
    for k in range(len(known)):
        meets = (x0 < x1[k]) & (x1 > x0[k]) & (y0 < y1[k]) & (y1 > y0[k])
        later = np.flatnonzero(meets[k + 1 :]) + k + 1
        chosen = (
            later[np.unique(np.linspace(0, len(later) - 1, MOST_PARTNERS).astype(int))]
            if len(later)
            else later
        )
        pairs += [(int(known[k]), int(known[other])) for other in chosen]
    return pairs


def _difference(one: CoarseFrame | None, other: CoarseFrame | None) -> tuple[float, int] | None:
    """Median of the first frame less the second over their common pixels, and how many there are."""
    if one is None or other is None:
        return None
    left, low = max(one.window.column, other.window.column), max(one.window.row, other.window.row)
    right = min(one.window.column + one.window.columns, other.window.column + other.window.columns)
    top = min(one.window.row + one.window.rows, other.window.row + other.window.rows)
    parts = [
        frame.pixels[
            low - frame.window.row : top - frame.window.row,
            left - frame.window.column : right - frame.window.column,
        ]
        for frame in (one, other)
    ]
    difference = parts[0].astype(float) - parts[1]
    difference = difference[np.isfinite(difference)]
    return (float(np.median(difference)), len(difference)) if len(difference) >= LEAST_PIXELS else None

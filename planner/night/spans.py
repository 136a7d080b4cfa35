"""Spans of time: pairs (from, to) of seconds, sorted and apart."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["Span", "chord", "common", "length_s", "second_chord", "spans_where", "without"]

Span = tuple[float, float]
Array = NDArray[np.float64]
Exact = Callable[[NDArray[np.int64], NDArray[np.float64]], NDArray[np.float64]]


def length_s(spans: Iterable[Span]) -> float:
    """Total length, seconds.

    >>> length_s([(0, 2), (5, 6)])
    3
    """
    return sum(end - start for start, end in spans)


def common(first: Sequence[Span], second: Sequence[Span]) -> list[Span]:
    """Spans that lie in both.

    >>> common([(0, 5), (8, 9)], [(3, 10)])
    [(3, 5), (8, 9)]
    """
    pairs = [(max(a, c), min(b, d)) for a, b in first for c, d in second]
    return sorted(pair for pair in pairs if pair[0] < pair[1])


def without(spans: Sequence[Span], removed: Sequence[Span]) -> list[Span]:
    """Spans less those removed.

    >>> without([(0, 5)], [(1, 2), (4, 9)])
    [(0, 1), (2, 4)]
    """
    left = list(spans)
    for start, end in removed:
        pieces = [((a, min(b, start)), (max(a, end), b)) for a, b in left]
        left = [piece for pair in pieces for piece in pair if piece[0] < piece[1]]
    return left


def spans_where(
    margin: NDArray[np.float64], time_s: NDArray[np.float64], exact: Exact | None = None
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Find where sampled curves are at or above zero.

    Parameters
    ----------
    margin : ndarray, shape (N, T)
        One curve a row.
    time_s : ndarray, shape (T,)
        Rising instants of the samples.
    exact : callable, optional
        (rows, instants) to the curves' exact values there; with it an edge found on the chord between two
        samples is improved by a second chord.

    Returns
    -------
    rows : ndarray of int, shape (S,)
    spans : ndarray, shape (S, 2)
        Sorted by row, then by time.
    """
    inside = margin >= 0.0
    padded = np.pad(inside, ((0, 0), (1, 1)))
    rows, places = np.nonzero(padded[:, 1:] != padded[:, :-1])
    edges = _edges(margin, time_s, rows, places, exact)
    return rows[::2], edges.reshape(-1, 2)


def _edges(
    margin: NDArray[np.float64],
    time_s: NDArray[np.float64],
    rows: NDArray[np.int64],
    places: NDArray[np.int64],
    exact: Exact | None,
) -> NDArray[np.float64]:
    """Instants of the edges just before the samples at `places`; the ends of the grid are their own edges."""
    before, after = np.maximum(places - 1, 0), np.minimum(places, len(time_s) - 1)
    t0, t1 = time_s[before], time_s[after]
    m0, m1 = margin[rows, before], margin[rows, after]
    found = chord(t0, t1, m0, m1)
    if exact is None or not len(rows):
        return found
    return second_chord(t0, t1, m0, m1, found, exact(rows, found))


def second_chord(t0: Array, t1: Array, m0: Array, m1: Array, found: Array, m: Array) -> Array:
    """Where chords between samples cross zero, once the margins m at the first crossings are known."""
    left = (m >= 0.0) == (m0 >= 0.0)
    return chord(
        np.where(left, found, t0), np.where(left, t1, found), np.where(left, m, m0), np.where(left, m1, m)
    )


def chord(t0: Array, t1: Array, m0: Array, m1: Array) -> Array:
    """Where chords between samples of times t0, t1 and margins m0, m1 cross zero."""
    rise = np.where(m1 == m0, 1.0, m1 - m0)
    return np.asarray(t0 + (t1 - t0) * np.clip(-m0 / rise, 0.0, 1.0))

"""Triangles of stars: shapes that do not change when a frame is shifted, turned, mirrored or scaled.

A triangle is described by its longest side and the ratios of the other two to it; its corners are listed in
the order of the sides that face them, longest first, so that equal triangles name equal stars.

Source: Groth 1986, AJ 91, 1244 (triangles, and which of them to leave out); Valdes, Campusano, Velasquez &
Stetson 1995, PASP 107, 1119 (triangle space of side ratios). The code is written from the method.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

__all__ = ["Triangles", "equal_triangles", "star_triangles"]

LEAST_RATIO = 0.2
"""Flatter or smaller-sided triangles fix neither angle nor scale."""
LARGEST_RATIO = 0.98
"""Sides nearer to equal leave open which corner is which."""
SHAPE_SHARES = (0.1, 0.4, 1.0)
"""Shares of the tolerance of shape that are tried in turn, until there are pairs enough."""


@dataclass(frozen=True)
class Triangles:
    """Triangles among stars.

    Parameters
    ----------
    corners : ndarray of int, shape (T, 3)
        Star numbers; the first faces the longest side, the last the shortest.
    longest_rad : ndarray, shape (T,)
        Longest side as a chord of the unit sphere, radians.
    ratios : ndarray, shape (T, 2)
        Middle and shortest side over the longest.
    """

    corners: NDArray[np.intp]
    longest_rad: NDArray[np.float64]
    ratios: NDArray[np.float64]


def star_triangles(vectors: NDArray[np.float64], least_rad: float, largest_rad: float) -> Triangles:
    """All useful triangles with every side between two limits.

    Parameters
    ----------
    vectors : ndarray, shape (N, 3)
        Unit vectors.
    least_rad, largest_rad : float
        Limits of the sides, radians.
    """
    from scipy.spatial import cKDTree

    near = cKDTree(vectors).query_ball_point(vectors, largest_rad) if len(vectors) else []
    parts = [_triples(index, np.array([n for n in found if n > index])) for index, found in enumerate(near)]
    corners = np.concatenate([np.empty((0, 3), dtype=np.intp), *parts])
    return _described(vectors, corners, least_rad, largest_rad)


def _triples(index: int, later: NDArray[np.intp]) -> NDArray[np.intp]:
    """Every pair of a star's neighbours of higher number, with the star."""
    if len(later) < 2:
        return np.empty((0, 3), dtype=np.intp)
    first, second = np.triu_indices(len(later), 1)
    return np.column_stack([np.full(len(first), index), later[first], later[second]])


def _described(
    vectors: NDArray[np.float64], corners: NDArray[np.intp], least_rad: float, largest_rad: float
) -> Triangles:
    points = vectors[corners]
    sides = np.linalg.norm(points[:, [1, 2, 0]] - points[:, [2, 0, 1]], axis=2)  # side k faces corner k
    order = np.argsort(-sides, axis=1)
    sides = np.take_along_axis(sides, order, axis=1)
    ratios = sides[:, 1:] / np.maximum(sides[:, :1], 1e-300)
    useful = (
        (sides[:, 2] >= least_rad)
        & (sides[:, 0] <= largest_rad)
        & (ratios[:, 1] >= LEAST_RATIO)
        & (ratios[:, 0] <= LARGEST_RATIO)
        & (ratios[:, 1] <= LARGEST_RATIO * ratios[:, 0])
        & (ratios.sum(axis=1) >= 1.05)
    )
    return Triangles(np.take_along_axis(corners, order, axis=1)[useful], sides[useful, 0], ratios[useful])


def equal_triangles(
    first: Triangles, second: Triangles, *, ratio_tolerance: float, scale_tolerance: float, limit: int
) -> NDArray[np.intp]:
    """Pairs of triangles of the same shape and nearly the same size, the closest in shape first.

    Parameters
    ----------
    ratio_tolerance : float
        Largest difference of each side ratio.
    scale_tolerance : float
        Largest difference of the longest sides, as a fraction.
    limit : int
        Most pairs returned.

    Returns
    -------
    ndarray of int, shape (K, 2)
        Rows of `first` and `second`.
    """
    if not len(first.corners) or not len(second.corners):
        return np.empty((0, 2), dtype=np.intp)
    for share in SHAPE_SHARES:
        pairs = _pairs_within(first, second, share * ratio_tolerance, scale_tolerance)
        if len(pairs) >= limit:
            break
    off = first.ratios[pairs[:, 0]] - second.ratios[pairs[:, 1]]
    return pairs[np.argsort(np.sum(off**2, axis=1), kind="stable")[:limit]]


def _pairs_within(
    first: Triangles, second: Triangles, ratio_tolerance: float, scale_tolerance: float
) -> NDArray[np.intp]:
    """All pairs of triangles that differ by no more than this, shape (K, 2)."""
    from scipy.spatial import cKDTree

    weights = 1.0 / np.array([scale_tolerance, ratio_tolerance, ratio_tolerance])
    here, there = (np.column_stack([np.log(t.longest_rad), t.ratios]) * weights for t in (first, second))
    found = cKDTree(there).query_ball_point(here, 1.0, p=np.inf)
    return np.column_stack(as_pairs(found))


def as_pairs(found: Sequence[Sequence[int]]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return what a tree found near each of its questions as pairs: question and what was found."""
    counts = np.array([len(row) for row in found], dtype=np.intp)
    others = np.fromiter(chain.from_iterable(found), dtype=np.intp, count=int(counts.sum()))
    return np.repeat(np.arange(len(counts)), counts), others

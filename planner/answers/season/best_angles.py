"""A few angles for many targets: which serve best, and which target goes with which, exactly."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["best_angles"]

Costs = NDArray[np.float64]
Columns = NDArray[np.int64]


def best_angles(cost: Costs, most: int) -> Columns | None:
    """Choose at most so many columns, and one of them for each row, at the least total cost.

    This is the uncapacitated p-median problem (Hakimi 1964, Operations Research 12, 450).
    One column, or as many as there are rows, are found by looking; else columns that another one beats in every
    row drop out, and an integer program decides, to the end.

    Parameters
    ----------
    cost : ndarray, shape (N, A)
        Of each row (target) in each column (angle); infinite where that is not allowed.
    most : int
        Columns that may be used, at least 1.

    Returns
    -------
    ndarray of int, shape (N,), or None
        Each row's column; None if the rows cannot all be served. Among equals the first columns.

    >>> best_angles(np.array([[3.0, 5.0, 9.0], [9.0, 5.0, 3.0]]), 1).tolist()
    [1, 1]
    >>> best_angles(np.array([[3.0, 5.0, 9.0], [9.0, 5.0, 3.0]]), 2).tolist()
    [0, 2]
    """
    rows = np.arange(len(cost))
    if most >= len(cost):
        columns = cost.argmin(axis=1)
    elif most == 1:
        columns = np.full(len(cost), cost.sum(axis=0).argmin())
    else:
        chosen = _by_integer_program(cost, most)
        columns = chosen[cost[:, chosen].argmin(axis=1)] if len(chosen) else np.zeros(len(cost), dtype=int)
    return columns.astype(np.int64) if np.isfinite(cost[rows, columns]).all() else None


def _by_integer_program(cost: Costs, most: int) -> Columns:
    """Columns of the best choice; none if there is no choice."""
    import scipy.optimize
    from scipy.sparse import csr_array

    kept = _undominated(cost)
    row, place = np.nonzero(np.isfinite(cost[:, kept]))
    count, pairs = len(kept), len(row)
    if len(np.unique(row)) < len(cost):
        return np.empty(0, dtype=np.int64)
    # variables: column used (count), then row served by column (pairs)
    served = csr_array((np.ones(pairs), (row, count + np.arange(pairs))), shape=(len(cost), count + pairs))
    links = csr_array(
        (np.tile([1.0, -1.0], pairs), (np.repeat(np.arange(pairs), 2), _interleaved(count, place))),
        shape=(pairs, count + pairs),
    )
    used = csr_array((np.ones(count), (np.zeros(count, int), np.arange(count))), shape=(1, count + pairs))
    limit = scipy.optimize.LinearConstraint
    found = scipy.optimize.milp(
        np.concatenate([np.zeros(count), cost[row, kept[place]]]),
        integrality=np.concatenate([np.ones(count), np.zeros(pairs)]),
        bounds=scipy.optimize.Bounds(0.0, 1.0),
        constraints=[limit(served, 1.0, 1.0), limit(links, -np.inf, 0.0), limit(used, 0.0, float(most))],
        options={"mip_rel_gap": 0.0},
    )
    return kept[found.x[:count] > 0.5] if found.x is not None else np.empty(0, dtype=np.int64)


def _interleaved(count: int, place: Columns) -> Columns:
    """Variables of `served by - used <= 0`, two for each pair."""
    return np.stack([count + np.arange(len(place)), place], axis=-1).ravel()


def _undominated(cost: Costs) -> Columns:
    """Columns that no other one beats or equals in every row; of equal ones the first."""
    kept: list[int] = []
    for column in np.argsort(np.where(np.isfinite(cost), cost, 1e12).sum(axis=0), kind="stable"):
        others = cost[:, kept]
        if np.isfinite(cost[:, column]).any() and not (others <= cost[:, [column]]).all(axis=0).any():
            kept.append(int(column))
    return np.array(sorted(kept), dtype=np.int64)

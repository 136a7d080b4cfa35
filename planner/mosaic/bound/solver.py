"""Linear and integer programs over sets of points.

Solved by HiGHS (Huangfu & Hall 2018, Math. Prog. Comp. 10, 119).
"""

from __future__ import annotations

from functools import cached_property
from threading import local
from typing import Any

import numpy as np
from highspy import Highs, kHighsInf
from numpy.typing import NDArray

__all__ = ["heaviest_points", "least_sets"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
BARE: Any = Highs.__base__
"""The solver itself; `Highs` prints a banner when it is made."""
LINEAR = {"presolve": "off", "simplex_strategy": 1}
"""Programs are small: the dual simplex method alone is quickest."""
BY_COLUMN, BY_ROW = 1, 2
LEAST, MOST = 1, -1
WHOLE = 1


def heaviest_points(sets: Flags) -> tuple[Array, Array]:
    """Weights of points, of the largest total, so that no set weighs more than 1 within the solver's tolerance.

    Parameters
    ----------
    sets : ndarray of bool, shape (C, P)
        Every point must be in a set.

    Returns
    -------
    ndarray, shape (P,)
    ndarray, shape (C,)
        Parts of the sets that hold every point whole: the dual solution.
    """
    count, points = sets.shape
    start, index = _sparse(sets)
    solver = OWN.linear
    solver.passModel(
        points,
        count,
        len(index),
        BY_ROW,
        MOST,
        0.0,
        np.ones(points),
        np.zeros(points),
        np.full(points, kHighsInf),
        np.full(count, -kHighsInf),
        np.ones(count),
        start,
        index,
        np.ones(len(index)),
        np.zeros(points, dtype=np.int32),
    )
    solver.run()
    solution = solver.getSolution()
    if not solution.value_valid or not solution.dual_valid:
        return np.zeros(points), np.zeros(count)
    return np.maximum(solution.col_value, 0.0), np.abs(np.array(solution.row_dual))


def least_sets(sets: Flags, most_nodes: int) -> tuple[float, NDArray[np.intp]]:
    """Lower bound, within the solver's tolerance, of how many sets hold every point, and the best choice found.

    Parameters
    ----------
    sets : ndarray of bool, shape (C, P)
        Every point must be in a set.
    most_nodes : int
        Branches that the program may look at: counted, so that the outcome does not depend on the machine.

    Returns
    -------
    float
    ndarray of int
        Indices of sets; none if the program found no choice.
    """
    count, points = sets.shape
    start, index = _sparse(sets)
    solver = _solver({"mip_max_nodes": most_nodes})
    solver.passModel(
        count,
        points,
        len(index),
        BY_COLUMN,
        LEAST,
        0.0,
        np.ones(count),
        np.zeros(count),
        np.ones(count),
        np.ones(points),
        np.full(points, kHighsInf),
        start,
        index,
        np.ones(len(index)),
        np.full(count, WHOLE, dtype=np.int32),
    )
    solver.run()
    bound, solution = float(solver.getInfo().mip_dual_bound), solver.getSolution()
    chosen = np.array(solution.col_value) if solution.value_valid else np.zeros(0)
    return bound if np.isfinite(bound) else 0.0, np.flatnonzero(chosen > 0.5)


class _Own(local):
    """Solvers that a thread keeps: to make one takes a tenth of the time that a program takes."""

    @cached_property
    def linear(self) -> Any:
        return _solver(LINEAR)


OWN = _Own()


def _solver(options: dict[str, Any]) -> Any:
    solver = BARE()
    for name, value in {"output_flag": False, "threads": 1, **options}.items():
        solver.setOptionValue(name, value)
    return solver


def _sparse(sets: Flags) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Where each set begins, and the points of all sets, one after the other."""
    index = (np.flatnonzero(sets) % sets.shape[1]).astype(np.int32)  # twice as quick as by rows and columns
    sizes = np.count_nonzero(sets, axis=1)
    return (np.cumsum(sizes) - sizes).astype(np.int32), index

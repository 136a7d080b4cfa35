"""The integer program: the fewest whole sets that hold every point."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["least_sets"]

SAFETY = 1e-6
MOST_NODES = 400
"""Branches that one program may look at: counted, so that the outcome does not depend on the machine."""


def least_sets(sets: NDArray[np.bool_]) -> tuple[int, NDArray[np.intp]]:
    """Proven lower bound of the number of sets that hold every point, and the best choice found.

    Parameters
    ----------
    sets : ndarray of bool, shape (C, P)
        Every point must be in a set.

    Returns
    -------
    int
    ndarray of int
        Indices of sets; none if the program found no choice.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_matrix

    count = len(sets)
    if not sets.size:
        return 0, np.zeros(0, dtype=np.intp)
    result = milp(
        np.ones(count),
        integrality=np.ones(count),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(csr_matrix(sets.T.astype(float)), 1, np.inf),
        options={"node_limit": MOST_NODES},
    )
    bound = 0.0 if result.mip_dual_bound is None else float(result.mip_dual_bound)
    chosen = np.zeros(0) if result.x is None else result.x
    return max(0, math.ceil(bound - SAFETY)), np.flatnonzero(chosen > 0.5)

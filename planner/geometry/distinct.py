"""Different values of an array, in order.

As `np.unique`, which in some versions of numpy imports masked arrays first, and that takes longer than numpy itself.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["distinct"]

Number = TypeVar("Number", np.float64, np.int32, np.int64, np.intp)


def distinct(values: NDArray[Number]) -> NDArray[Number]:
    """Return the different values, ascending; none of them may be NaN.

    Parameters
    ----------
    values : ndarray, shape (N,)

    Returns
    -------
    ndarray, shape (K,)

    >>> distinct(np.array([3, 1, 3])).tolist()
    [1, 3]
    """
    found = np.sort(values)
    is_new = np.ones(len(found), dtype=bool)
    np.not_equal(found[1:], found[:-1], out=is_new[1:])
    return found[is_new]

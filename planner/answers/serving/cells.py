"""The angles cut at every end of a stretch: between two ends the same targets fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .fitting_angles import FittingAngles

__all__ = ["Cells", "cells_of"]

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Cells:
    """Single angles (ends of stretches) and the gaps between them, in turn, once round the period.

    Parameters
    ----------
    ends_deg : ndarray, shape (L,)
        Rising, in [0, period); 0 alone where no target has an end.
    sets : ndarray of bool, shape (2 L, N)
        Which targets fit at end i (row 2 i), and in the gap after it (row 2 i + 1).
    period_deg : float
    """

    ends_deg: Array
    sets: NDArray[np.bool_]
    period_deg: float

    @property
    def spans_deg(self) -> tuple[Array, Array]:
        """From and to of each cell, shapes (2 L,); of the last gap `to` passes the period."""
        after = np.append(self.ends_deg[1:], self.ends_deg[0] + self.period_deg)
        return np.repeat(self.ends_deg, 2), np.stack([self.ends_deg, after], axis=1).ravel()

    def rows_at(self, angles_deg: Array) -> NDArray[np.int64]:
        """Return the cell of each angle, shape (A,)."""
        past = np.asarray(angles_deg, dtype=float) % self.period_deg
        index = np.searchsorted(self.ends_deg, past, side="right") - 1
        at_end = (index >= 0) & (self.ends_deg[index] == past)
        return np.asarray(2 * index + np.where(at_end, 0, 1)) % (2 * len(self.ends_deg))


def cells_of(fitting: FittingAngles) -> Cells:
    """Return the cells: a stretch covers those from its first end up to its last, both ends included.

    >>> cells = cells_of(FittingAngles(("A", "B"), (((0.0, 20.0),), ((20.0, 30.0),)), (1.0, 1.0), 180.0))
    >>> cells.ends_deg.tolist(), cells.sets.sum(axis=1).tolist()
    ([0.0, 20.0, 30.0], [1, 1, 2, 1, 1, 0])
    """
    period, pieces, whole = fitting.period_deg, [], []
    for number, stretches in enumerate(fitting.joined_deg):
        for start, stop in stretches:
            if stop - start >= period:
                whole.append(number)
            else:
                pieces.append((number, start, stop % period, stop >= period))
    ends = np.unique([0.0] if not pieces else [end for _, *both, _ in pieces for end in both])
    steps = np.zeros((len(fitting), 2 * len(ends) + 1), dtype=np.int8)
    steps[whole, 0] = 1
    if pieces:
        rows, first, last, over = (np.array(column) for column in zip(*pieces, strict=True))
        np.add.at(steps, (rows, 2 * np.searchsorted(ends, first)), 1)
        np.add.at(steps, (rows, 2 * np.searchsorted(ends, last) + 1), -1)
        np.add.at(steps, (rows[over], np.zeros(int(over.sum()), dtype=np.int64)), 1)
    held = np.cumsum(steps[:, :-1], axis=1, dtype=np.int8) > 0
    return Cells(ends, np.ascontiguousarray(held.T), period)

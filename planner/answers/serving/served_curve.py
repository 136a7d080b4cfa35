"""How much every camera angle serves: it changes only where a stretch begins or ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .cells import Cells
from .fitting_angles import FittingAngles

__all__ = ["ServedCurve", "curve_over"]

Array = NDArray[np.float64]
SAME = 1e-9
"""Sums of weights that differ by less are the same."""


@dataclass(frozen=True, eq=False)
class ServedCurve:
    """What is served at every angle, as steps.

    Parameters
    ----------
    angles_deg : ndarray, shape (L,)
        Where it may change, rising, in [0, period).
    at, after : ndarray, shape (L,)
        Sum of weights at exactly that angle, and from there up to the next one.
    period_deg : float
    """

    angles_deg: Array
    at: Array
    after: Array
    period_deg: float

    def value(self, angle_deg: float) -> float:
        """Sum of weights at an angle."""
        angle = angle_deg % self.period_deg
        index = int(np.searchsorted(self.angles_deg, angle, side="right")) - 1
        same = index >= 0 and self.angles_deg[index] == angle
        return float(self.at[index] if same else self.after[index])

    @property
    def steps(self) -> tuple[tuple[float, float], ...]:
        """Every angle where the value changes, and the value from that angle on; one row where it never does.

        Before the first the last one holds. The end of a stretch belongs to it: there the value holds beyond.
        """
        changed = np.flatnonzero(np.abs(self.after - np.roll(self.after, 1)) > SAME)
        chosen = changed if len(changed) else np.array([0])
        return tuple(zip(self.angles_deg[chosen].tolist(), self.after[chosen].tolist(), strict=True))


def curve_over(cells: Cells, fitting: FittingAngles) -> ServedCurve:
    """Return the curve over cells that are known."""
    values = np.einsum("mn,n->m", cells.sets, fitting.weight_array)  # a product would wake threads
    return ServedCurve(cells.ends_deg, values[::2], values[1::2], cells.period_deg)

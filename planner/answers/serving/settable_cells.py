"""Which cells hold an angle that can be set, and the one of it that lies deepest inside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.rig.angle_device import ENDS_DEG, AngleDevice

from .cells import Cells

__all__ = ["SettableCells", "settable_cells"]

Array = NDArray[np.float64]
ROUND_DEG = (1.0, 0.1, 0.01, 0.001)
"""A camera without a device gets the roundest angle near the middle that lies inside."""
DECIMALS = 9


@dataclass(frozen=True, eq=False)
class SettableCells:
    """Cells that hold an angle that can be set.

    Parameters
    ----------
    angles_deg : ndarray, shape (M,)
        The settable angle nearest to the cell's middle, in [0, period).
    rooms_deg : ndarray, shape (M,)
        How far it is from the nearer end of the cell.
    sets : ndarray of bool, shape (M, N)
        Which targets fit there.
    """

    angles_deg: Array
    rooms_deg: Array
    sets: NDArray[np.bool_]

    def at(self, chosen: NDArray[np.int64] | NDArray[np.bool_]) -> SettableCells:
        """Return some of the cells."""
        return SettableCells(self.angles_deg[chosen], self.rooms_deg[chosen], self.sets[chosen])


def settable_cells(cells: Cells, device: AngleDevice | None) -> SettableCells:
    """Return the cells that a device's divisions reach within its travel; all without a device.

    A single end between two gaps is kept only where it serves what neither of them does.
    """
    keep = _that_matter(cells.sets)
    low, high = (end[keep] for end in cells.spans_deg)
    if device is None:
        angles, found = _roundest(low, high), np.ones(len(low), dtype=bool)
    else:
        angles, found = _divisions(low, high, device, cells.period_deg)
    rooms = np.maximum(0.0, np.minimum(angles - low, high - angles))
    angles = np.round(angles % cells.period_deg, DECIMALS) % cells.period_deg
    return SettableCells(angles, rooms, cells.sets[keep]).at(found)


def _that_matter(sets: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Cells that are gaps, or ends where one stretch ends and another begins, shape (2 L,)."""
    more = sets.sum(axis=1)
    matter = np.ones(len(sets), dtype=bool)
    matter[::2] = more[::2] > np.maximum(more[1::2], np.roll(more[1::2], 1))
    return matter


def _roundest(low: Array, high: Array) -> Array:
    middle = (low + high) / 2
    angles = middle.copy()
    for step in reversed(ROUND_DEG):
        rounded = np.round(middle / step) * step
        angles = np.where((rounded >= low) & (rounded <= high), rounded, angles)
    return angles


def _divisions(
    low: Array, high: Array, device: AngleDevice, period_deg: float
) -> tuple[Array, NDArray[np.bool_]]:
    """Return the division's angle nearest to the middle of each span, and whether there is one, shapes (M,)."""
    ends = np.sort(np.stack([low - device.zero_deg, high - device.zero_deg]) * device.sense, axis=0)
    travel, division = device.travel_deg, device.division_deg
    turns = np.arange(
        np.floor((travel[0] - ends[1].max()) / period_deg),
        np.ceil((travel[1] - ends[0].min()) / period_deg) + 1,
    )[:, None]
    middle = ends.mean(axis=0) + turns * period_deg
    first = np.ceil((np.maximum(ends[0] + turns * period_deg, travel[0]) - ENDS_DEG) / division)
    last = np.floor((np.minimum(ends[1] + turns * period_deg, travel[1]) + ENDS_DEG) / division)
    readings = np.clip(np.round(middle / division), first, np.maximum(first, last)) * division
    off = np.where(first <= last, np.abs(readings - middle), np.inf)
    best = off.argmin(axis=0)
    columns = np.arange(len(low))
    past = (readings - middle)[best, columns] * device.sense
    return (low + high) / 2 + past, np.isfinite(off[best, columns])

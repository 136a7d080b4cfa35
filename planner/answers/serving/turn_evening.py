"""On which evening to turn the camera once, so that the hours before and after serve most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.rig.angle_device import AngleDevice

from .best_angles import candidates, readings_of
from .cells import cells_of
from .fitting_angles import FittingAngles
from .settable_cells import SettableCells

__all__ = ["TurnEvening", "best_turn_evening"]

Array = NDArray[np.float64]
SAME = 1e-9
"""Relative to all hours: sums that differ by less are the same."""


@dataclass(frozen=True, eq=False)
class TurnEvening:
    """A season in two parts, each with its own angle.

    Parameters
    ----------
    evening : int
        The first one at the second angle, counted from 0.
    angles_deg : (float, float)
        Before and after.
    readings_deg : tuple of float
        The divisions that show them; empty without a device.
    hours : float
        Sum over targets of the hours in which each fits: before at the first angle, after at the second.
    hours_without : float
        The same with the best single angle for hours, never turned.
    angle_without_deg : float
        That angle.
    targets : int
        How many targets have any time at the angle of its part.
    hours_by_evening : ndarray, shape (E + 1,)
        The most hours with the turn before each evening; first and last without a turn.
    """

    evening: int
    angles_deg: tuple[float, float]
    readings_deg: tuple[float, ...]
    hours: float
    hours_without: float
    angle_without_deg: float
    targets: int
    hours_by_evening: Array


def best_turn_evening(
    fitting: FittingAngles,
    evening_hours: ArrayLike,
    device: AngleDevice | None = None,
    *,
    start_deg: float | None = None,
) -> TurnEvening | None:
    """Return the evening and the two angles with the most hours, exactly; None for fewer than two evenings.

    For every evening as the turn the best angle of either part is independent of the other, so hours summed from the
    first evening on tell all of it. Among equal evenings the middle of the first run is taken.

    Parameters
    ----------
    fitting : FittingAngles
        Its weights do not count here.
    evening_hours : array_like, shape (N, E)
        Hours in which each target can be shot, evening by evening, 0 or more.
    device : AngleDevice, optional
    start_deg : float, optional
        The present reading.

    Raises
    ------
    InputError
        If no division lies within the device's travel.

    >>> fitting = FittingAngles(("A", "B"), (((0.0, 10.0),), ((90.0, 100.0),)), (1.0, 1.0), 180.0)
    >>> found = best_turn_evening(fitting, [[3.0, 3.0, 0.0, 0.0], [0.0, 0.0, 2.0, 2.0]])
    >>> found.evening, found.angles_deg, found.hours, found.hours_without
    (2, (5.0, 95.0), 10.0, 6.0)
    """
    hours = np.asarray(evening_hours, dtype=float)
    if hours.shape[1] < 2:
        return None
    some = candidates(cells_of(fitting), device)
    summed = np.concatenate([np.zeros((len(hours), 1)), np.cumsum(hours, axis=1)], axis=1)
    before = some.sets.astype(float) @ summed
    after = before[:, -1:] - before
    total = before.max(axis=0) + after.max(axis=0)
    same = SAME * max(1.0, float(summed[:, -1].sum()))
    evening = 1 + _first_middle(total[1:-1] >= total[1:-1].max() - same)
    first, second = (_roomiest(part[:, evening], some, same) for part in (before, after))
    alone = _roomiest(before[:, -1], some, same)
    angles = float(some.angles_deg[first]), float(some.angles_deg[second])
    timed = (some.sets[first] & (summed[:, evening] > 0)) | (
        some.sets[second] & (summed[:, -1] - summed[:, evening] > same)
    )
    return TurnEvening(
        evening,
        angles,
        readings_of(angles, device, fitting.period_deg, start_deg),
        float(total[evening]),
        float(before[alone, -1]),
        float(some.angles_deg[alone]),
        int(timed.sum()),
        total,
    )


def _first_middle(best: NDArray[np.bool_]) -> int:
    """Return the middle of the first run of what is best."""
    first = int(best.argmax())
    beyond = best[first:].argmin()
    run = int(beyond) if not best[first:].all() else len(best) - first
    return first + (run - 1) // 2


def _roomiest(values: Array, some: SettableCells, same: float) -> int:
    best = np.flatnonzero(values >= values.max() - same)
    return int(best[some.rooms_deg[best].argmax()])

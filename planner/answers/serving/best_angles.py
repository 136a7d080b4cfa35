"""The one camera angle, the two and the three that serve most, of those that can be set."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.rig.angle_device import AngleDevice
from planner.rig.readings import least_travel
from planner.rig.settable_angles import device_angles, free_angles

from .cells import Cells
from .few_sets import best_few, undominated
from .fitting_angles import FittingAngles
from .settable_cells import SettableCells, settable_cells

__all__ = ["BestAngles", "best_rows", "candidates", "readings_of"]

DECIMALS = 9
ON_SCALE_DEG = 1e-6
"""A reading nearer than this to a division is that division."""


@dataclass(frozen=True)
class BestAngles:
    """So many angles that serve most between them.

    Parameters
    ----------
    angles_deg : tuple of float
        Rising, in [0, period).
    readings_deg : tuple of float
        The division that shows each, of several the nearest to the present reading, or to 0; empty without a device.
    served : float
        Sum of the weights of what fits at one of them at least.
    targets : int
        How many targets those are.
    """

    angles_deg: tuple[float, ...]
    readings_deg: tuple[float, ...]
    served: float
    targets: int


def candidates(cells: Cells, device: AngleDevice | None) -> SettableCells:
    """Return the settable angles of which no other one serves all the same targets too.

    Raises
    ------
    InputError
        If no division lies within the travel.
    """
    if device is not None:
        device_angles(device, period_deg=cells.period_deg)  # refuses a travel without a division
    found = settable_cells(cells, device)
    return found.at(undominated(found.sets, found.rooms_deg))


def best_rows(
    fitting: FittingAngles,
    cells: Cells,
    some: SettableCells,
    device: AngleDevice | None = None,
    *,
    start_deg: float | None = None,
    most: int = 3,
) -> tuple[BestAngles, ...]:
    """Return the best one, two, ... angles; fewer rows only where fewer angles can be set at all.

    Parameters
    ----------
    fitting : FittingAngles
    cells : Cells
        Of it.
    some : SettableCells
        The candidates.
    device : AngleDevice, optional
    start_deg : float, optional
        The present reading, from which the way counts among readings that show the same angle.
    most : int
        1, 2 or 3.
    """
    some = _enough(some, cells, fitting, device, most)
    rows = best_few(some.sets, fitting.weight_array, some.rooms_deg, most)
    found = []
    for row in rows:
        order = np.array(sorted(row, key=lambda one: some.angles_deg[one]))
        angles = tuple(some.angles_deg[order].tolist())
        held = some.sets[order].any(axis=0)
        found.append(
            BestAngles(
                angles,
                _nearest_readings(angles, device, fitting.period_deg, start_deg),
                float(fitting.weight_array[held].sum()),
                int(held.sum()),
            )
        )
    return tuple(found)


def readings_of(
    angles_deg: tuple[float, ...],
    device: AngleDevice | None,
    period_deg: float,
    start_deg: float | None = None,
) -> tuple[float, ...]:
    """Return readings that show angles in turn, with the least travel; none without a device."""
    if device is None:
        return ()
    choices = [_divisions(device, angle, period_deg) for angle in angles_deg]
    return tuple(round(one, DECIMALS) for one in least_travel(choices, start_deg=start_deg))


def _nearest_readings(
    angles_deg: tuple[float, ...], device: AngleDevice | None, period_deg: float, start_deg: float | None
) -> tuple[float, ...]:
    """Return a reading for each angle on its own: they have no order yet."""
    return tuple(
        reading for angle in angles_deg for reading in readings_of((angle,), device, period_deg, start_deg)
    )


def _divisions(device: AngleDevice, angle_deg: float, period_deg: float) -> list[float]:
    """Return the divisions that show an angle: not every reading that does need be one."""
    readings = device.readings_for(angle_deg, period_deg=period_deg)
    pairs = [(reading, device.nearest_division(reading)) for reading in readings]
    return [division for reading, division in pairs if abs(division - reading) < ON_SCALE_DEG]


def _enough(
    some: SettableCells, cells: Cells, fitting: FittingAngles, device: AngleDevice | None, most: int
) -> SettableCells:
    """Add angles that bring in nothing, the most serving and the farthest first, where there are too few."""
    if len(some.angles_deg) >= most:
        return some
    period = cells.period_deg
    known = free_angles(period_deg=period) if device is None else device_angles(device, period_deg=period)
    spare = known.array_deg
    sets = cells.sets[cells.rows_at(spare)]
    value = sets @ fitting.weight_array
    while len(some.angles_deg) < most:
        apart = np.min([known.apart_deg(angle) for angle in some.angles_deg], axis=0)
        left = np.flatnonzero(apart > 10.0**-DECIMALS)
        if not len(left):
            break
        best = left[np.lexsort((-apart[left], -value[left]))[:1]]
        some = SettableCells(
            np.append(some.angles_deg, spare[best]),
            np.append(some.rooms_deg, 0.0),
            np.concatenate([some.sets, sets[best]]),
        )
    return some

"""The camera angles that a device can be set to: its divisions within its travel."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.checks import require

from .angle_device import ENDS_DEG, AngleDevice

__all__ = ["SettableAngles", "device_angles", "free_angles"]

MOST_ANGLES = 720
"""In a half turn. A motor's steps are finer than any choice needs; then every so many-th step is taken."""
DECIMALS = 9
"""Of a degree, to which angles that come from different readings are the same."""


@dataclass(frozen=True)
class SettableAngles:
    """Camera angles that can be set.

    Parameters
    ----------
    angles_deg : tuple of float
        Position angles, rising, in [0, period).
    readings_deg : tuple of tuples of float
        For each angle, the divisions that show it, rising; empty without a device.
    period_deg : float
        The turn that leaves a panel's ground the same: 180 degrees, or 90 for a square field.
    step_deg : float
        Between neighbouring divisions that are looked at.
    stride : int
        Every so many-th division is looked at.
    """

    angles_deg: tuple[float, ...]
    readings_deg: tuple[tuple[float, ...], ...]
    period_deg: float
    step_deg: float
    stride: int = 1

    def __len__(self) -> int:
        return len(self.angles_deg)

    @cached_property
    def array_deg(self) -> NDArray[np.float64]:
        """The angles as an array, shape (A,)."""
        return np.array(self.angles_deg)

    def apart_deg(self, angle_deg: float) -> NDArray[np.float64]:
        """How far each angle is from another one, modulo the period, shape (A,)."""
        half = self.period_deg / 2
        return np.asarray(np.abs((self.array_deg - angle_deg + half) % self.period_deg - half))

    @property
    def is_whole_turn(self) -> bool:
        """Whether there is an angle within a step of any that could be wished for."""
        gaps = np.diff(np.append(self.array_deg, self.array_deg[0] + self.period_deg))
        return bool(gaps.max() <= self.step_deg * (1 + 1e-6))


def device_angles(device: AngleDevice, *, period_deg: float) -> SettableAngles:
    """Return the angles that a device's divisions allow within its travel.

    Raises
    ------
    InputError
        If no division lies within the travel.

    >>> device = AngleDevice("adjuster", zero_deg=112.4, range_deg=(80.0, 100.0), division_deg=10.0)
    >>> found = device_angles(device, period_deg=180.0)
    >>> found.angles_deg, found.readings_deg
    ((12.4, 22.4, 32.4), ((80.0,), (90.0,), (100.0,)))
    """
    low, high = device.travel_deg
    division = device.division_deg
    first, last = math.ceil((low - ENDS_DEG) / division), math.floor((high + ENDS_DEG) / division)
    require(
        first <= last,
        f"angle_device.range_deg must hold a division of {division:g} degrees, got [{low:g}, {high:g}]; "
        "give a finer division_deg or the true travel",
    )
    stride = min(math.ceil(period_deg / division / MOST_ANGLES), math.ceil((last - first + 1) / MOST_ANGLES))
    found: dict[float, list[float]] = {}
    for count in range(math.ceil(first / stride) * stride, last + 1, stride):
        reading = round(count * division, DECIMALS)
        angle = round(device.position_angle_of(reading) % period_deg, DECIMALS) % period_deg
        found.setdefault(angle, []).append(reading)
    angles = tuple(sorted(found))
    return SettableAngles(
        angles, tuple(tuple(found[a]) for a in angles), period_deg, division * stride, stride
    )


def free_angles(also_deg: Iterable[float] = (), *, period_deg: float) -> SettableAngles:
    """Return whole degrees, and some angles besides, for a camera without a device that would limit them."""
    others = {round(angle % period_deg, DECIMALS) % period_deg for angle in also_deg}
    angles = tuple(sorted({*map(float, range(int(period_deg))), *others}))
    return SettableAngles(angles, ((),) * len(angles), period_deg, 1.0)

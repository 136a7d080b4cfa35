"""What turns the camera: position angle <-> reading on its scale.

On a telescope that looks west, or whose mount does not flip, a position angle PA shows the reading
(PA - zero) * sense. The telescope of a German mount looks east before its flip at the transit and west after
it; looking east the same reading shows the sky turned by 180 degrees. A panel is a rectangle, to which 180
degrees make no difference, so the same reading serves on both sides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from planner.checks import check_position_angle, check_positive, check_within, require
from planner.geometry.looking import Looking

__all__ = ["AngleDevice", "half_turn_deg"]

GREATEST_READING_DEG = 1080.0
"""Three turns either way: more is a slip of the pen."""
ENDS_DEG = 1e-9
"""Rounding that the ends of the travel allow."""


def half_turn_deg(looking: Looking) -> float:
    """Return what looking to a side adds to the position angle of looking west: 180 for east, degrees."""
    return 180.0 if looking == "east" else 0.0


@dataclass(frozen=True)
class AngleDevice:
    """A rotator, a graduated adjuster or a fixed camera.

    Parameters
    ----------
    kind : {'rotator', 'adjuster', 'fixed'}
        A fixed camera has the reading 0 and no other.
    zero_deg : float
        Position angle at reading 0 of a frame taken looking west, degrees east of north.
    sense : {1, -1}
        1: the reading grows with position angle; -1: it falls.
    range_deg : (float, float)
        Travel, in readings, ends included; may exceed a turn or be less.
    division_deg : float
        Smallest step of the scale, or the motor's step.

    Raises
    ------
    InputError
        If a value is out of range.

    >>> device = AngleDevice("adjuster", zero_deg=112.4, range_deg=(0.0, 360.0))
    >>> [round(reading, 9) for reading in device.readings_for(130.0, period_deg=180.0)]
    [17.6, 197.6]
    """

    kind: Literal["rotator", "adjuster", "fixed"]
    zero_deg: float = 0.0
    sense: int = 1
    range_deg: tuple[float, float] = (0.0, 360.0)
    division_deg: float = 1.0

    def __post_init__(self) -> None:
        require(
            self.kind in ("rotator", "adjuster", "fixed"),
            f"angle_device.kind must be 'rotator', 'adjuster' or 'fixed', got {self.kind!r}",
        )
        check_position_angle("angle_device.zero_deg", self.zero_deg)
        require(self.sense in (1, -1), f"angle_device.sense must be 1 or -1, got {self.sense!r}")
        self._check_range()
        check_positive("angle_device.division_deg", self.division_deg, 180.0, "give degrees")

    def _check_range(self) -> None:
        require(
            len(self.range_deg) == 2,
            f"angle_device.range_deg must be [lowest, highest], got {list(self.range_deg)}; give both",
        )
        for end in self.range_deg:
            check_within(
                "angle_device.range_deg",
                end,
                -GREATEST_READING_DEG,
                GREATEST_READING_DEG,
                "give the lowest and the highest reading that can be set",
            )
        low, high = self.range_deg
        require(
            low < high,
            f"angle_device.range_deg must rise, got [{low:g}, {high:g}]; give the lowest reading first",
        )

    @property
    def travel_deg(self) -> tuple[float, float]:
        """Lowest and highest reading that can be set."""
        return (0.0, 0.0) if self.kind == "fixed" else self.range_deg

    def reading_of(self, position_angle_deg: float, *, looking: Looking = "west") -> float:
        """Return the reading of exactly this position angle, degrees in [0, 360); see `position_angle_of`.

        The travel is not looked at.
        """
        return _turn((position_angle_deg - self.zero_deg - half_turn_deg(looking)) * self.sense)

    def position_angle_of(self, reading_deg: float, *, looking: Looking = "west") -> float:
        """Position angle at a reading, degrees east of north in [0, 360); inverse of `reading_of`."""
        return _turn(self.zero_deg + reading_deg * self.sense + half_turn_deg(looking))

    def holds(self, reading_deg: float) -> bool:
        """Whether a reading lies within the travel."""
        low, high = self.travel_deg
        return low - ENDS_DEG <= reading_deg <= high + ENDS_DEG

    def readings_for(self, position_angle_deg: float, *, period_deg: float) -> tuple[float, ...]:
        """All readings within the travel that show a position angle modulo a period, rising.

        Parameters
        ----------
        position_angle_deg : float
            Degrees east of north.
        period_deg : float
            Turns that make no difference: 180 for a rectangle, 90 for a square sensor. Both divide the 180
            degrees between looking east and west, so these readings serve on either side.
        """
        low, high = self.travel_deg
        base = (position_angle_deg - self.zero_deg) * self.sense
        first = math.ceil((low - ENDS_DEG - base) / period_deg)
        last = math.floor((high + ENDS_DEG - base) / period_deg)
        return tuple(min(max(base + k * period_deg, low), high) for k in range(first, last + 1))

    def nearest_reading(self, position_angle_deg: float, *, period_deg: float) -> tuple[float, float]:
        """Return the reading within the travel nearest to a position angle, and what it is off by.

        Returns
        -------
        reading_deg : float
        off_deg : float
            Position angle at that reading less the one asked for, modulo the period, degrees in
            [-period / 2, period / 2]; 0 where the angle can be reached.
        """
        found = self.readings_for(position_angle_deg, period_deg=period_deg)
        if found:
            return min(found, key=abs), 0.0
        offs = {end: self._off_deg(end, position_angle_deg, period_deg) for end in self.travel_deg}
        nearest = min(offs, key=lambda end: abs(offs[end]))
        return nearest, offs[nearest]

    def _off_deg(self, reading_deg: float, position_angle_deg: float, period_deg: float) -> float:
        return math.remainder(self.position_angle_of(reading_deg) - position_angle_deg, period_deg)

    def nearest_division(self, reading_deg: float) -> float:
        """Return the reading on the scale's divisions, within the travel, that is nearest to a reading."""
        low, high = self.travel_deg
        first = math.ceil((low - ENDS_DEG) / self.division_deg)
        last = math.floor((high + ENDS_DEG) / self.division_deg)
        if first > last:
            return reading_deg
        return min(max(round(reading_deg / self.division_deg), first), last) * self.division_deg


def _turn(angle_deg: float) -> float:
    """Angle in [0, 360)."""
    return angle_deg % 360.0 % 360.0

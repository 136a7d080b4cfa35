"""What a search is asked: a region, demands, and the orientations that a camera angle stands for."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.geometry import frame_position_angle_deg, wrapped_deg
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.region import Region

__all__ = ["AngleRange", "Task"]


@dataclass(frozen=True)
class AngleRange:
    """Camera angles from a start up to a start and a span, degrees; the same again after every period.

    Parameters
    ----------
    start_deg : float
    span_deg : float
        At least 0, at most the period; 0 is a single angle.
    period_deg : float
        180 for a rectangle, 90 for a square.

    >>> AngleRange(170.0, 20.0).holds(5.0), AngleRange(170.0, 20.0).holds(95.0)
    (True, False)
    """

    start_deg: float = 0.0
    span_deg: float = 180.0
    period_deg: float = 180.0

    def holds(self, angle_deg: float) -> bool:
        """Whether the range holds an angle, modulo the period."""
        past = (angle_deg - self.start_deg) % self.period_deg
        return past <= self.span_deg + 1e-9 or past >= self.period_deg - 1e-9

    def turn_deg(self, first_deg: float, second_deg: float) -> float:
        """Smallest turn from one angle to another, in [-period / 2, period / 2)."""
        return float(wrapped_deg(second_deg - first_deg, self.period_deg))

    def parts(self, widest_deg: float) -> Iterator[tuple[float, float]]:
        """Middles and half widths, degrees, of equal parts at most so wide."""
        count = max(1, math.ceil(self.span_deg / widest_deg - 1e-9))
        half = self.span_deg / count / 2
        for part in range(count):
            yield self.start_deg + (2 * part + 1) * half, half


@dataclass(frozen=True, eq=False)
class Task:
    """A region to be covered, and how panels may stand.

    Parameters
    ----------
    region : Region
    demands : tuple of Demand
        What every plan must meet.
    orientation_at : callable
        The orientation of panels at a camera angle in degrees.
    angles : AngleRange
        Angles that are allowed; all panels of a plan have the same.
    """

    region: Region
    demands: tuple[Demand, ...]
    orientation_at: Callable[[float], Orientation]
    angles: AngleRange = AngleRange()

    @cached_property
    def cores(self) -> float:
        """How many of the smallest core's areas the region holds: fewer panels hardly ever do."""
        cores = [4 * math.atan(a) * math.atan(b) for a, b in (demand.core for demand in self.demands)]
        return self.region.area_deg2 * math.radians(1.0) ** 2 / min(cores)

    def turn_within(self, middle_deg: float, half_deg: float) -> float:
        """How far panels can be turned, radians, against those of the middle angle within an interval of angles.

        That is the interval's half width for a constant angle in a fixed frame. Where the frame turns with the
        angle and its origin moves, what comes on top is measured at the corners of the region and doubled.
        """
        vectors = np.concatenate([self.region.outline_vectors, self.region.frame[2:]])
        middle = frame_position_angle_deg(self.orientation_at(middle_deg).frames(vectors))
        most = 0.0
        for share in (-1.0, -0.5, 0.5, 1.0) if half_deg else ():
            angle = middle_deg + share * half_deg
            there = frame_position_angle_deg(self.orientation_at(angle).frames(vectors))
            off = wrapped_deg(there - middle - share * half_deg)
            most = max(most, float(np.abs(off).max()))
        return math.radians(half_deg + 2 * most)

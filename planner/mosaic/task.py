"""What a search is asked: a region, demands, and the orientations that a camera angle stands for."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.geometry import basis_position_angle_deg, steady, wrapped_deg

from .angle_range import AngleRange
from .demand import Demand
from .open_ground import OpenGround
from .orientation import Orientation
from .region import Region

__all__ = ["Task"]


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
    open : OpenGround, optional
        What is to be served, where panels that stay serve the rest; left out, the whole region.
    """

    region: Region
    demands: tuple[Demand, ...]
    orientation_at: Callable[[float], Orientation]
    angles: AngleRange = AngleRange()
    open: OpenGround | None = None

    @cached_property
    def cores(self) -> float:
        """How many of the smallest core's areas there are to be served: fewer panels hardly ever do."""
        cores = [4 * steady.arctan(a) * steady.arctan(b) for a, b in (demand.core for demand in self.demands)]
        area_deg2 = self.region.area_deg2 if self.open is None else self.open.area_deg2
        return area_deg2 * math.radians(1.0) ** 2 / min(cores)

    def turn_within(self, middle_deg: float, half_deg: float) -> float:
        """How far panels can be turned, radians, against those of the middle angle within an interval of angles.

        That is the interval's half width for a constant angle in a fixed system. Where the system turns with the
        angle and its origin moves, what comes on top is measured at the corners of the region and doubled.
        """
        if self.orientation_at(middle_deg).is_common:
            return math.radians(half_deg)
        vectors = np.concatenate([self.region.outline_vectors, self.region.basis[2:]])
        middle = basis_position_angle_deg(self.orientation_at(middle_deg).bases(vectors))
        most = 0.0
        for share in (-1.0, -0.5, 0.5, 1.0) if half_deg else ():
            angle = middle_deg + share * half_deg
            there = basis_position_angle_deg(self.orientation_at(angle).bases(vectors))
            off = wrapped_deg(there - middle - share * half_deg)
            most = max(most, float(np.abs(off).max()))
        return math.radians(half_deg + 2 * most)

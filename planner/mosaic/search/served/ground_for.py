"""Which ground a region needs: flat, or curved near a pole."""

from __future__ import annotations

import math
from collections.abc import Sequence

from planner.geometry import steady
from planner.mosaic.demand import Demand
from planner.mosaic.open_ground import OpenGround
from planner.mosaic.orientation import Orientation
from planner.mosaic.poles import greatest_latitude
from planner.mosaic.region import Region

from .flat import FlatGround
from .ground import Ground

__all__ = ["convergence", "ground_for", "is_flat"]

FLAT_UP_TO = 1.2
"""Radians that meridians may converge by between the middle and the corner of a panel on flat ground."""
POLE_MARGIN = 0.2
"""Panels keep at least this part of their half diagonal away from a pole on flat ground."""


def convergence(region: Region, orientation: Orientation, demands: Sequence[Demand]) -> float:
    """How much meridians converge at most between a panel's middle and its corner, radians; pi/2 near a pole."""
    far = max(steady.arctan(steady.hypot(*demand.half_size)) for demand in demands)
    steepest = greatest_latitude(region, orientation) + far
    return far * steady.tan(steepest) if steepest < math.pi / 2 - POLE_MARGIN * far else math.pi / 2


def is_flat(region: Region, orientation: Orientation, demands: Sequence[Demand]) -> bool:
    """Whether meridians converge so little that a flat chart tells what panels serve."""
    return convergence(region, orientation, demands) < FLAT_UP_TO


def ground_for(
    region: Region, orientation: Orientation, demands: Sequence[Demand], open: OpenGround | None = None
) -> Ground:
    """Return flat ground where panels stand in some order, curved ground near a pole."""
    if is_flat(region, orientation, demands):
        return FlatGround(region, orientation, demands, open)
    from .curved import CurvedGround

    return CurvedGround(region, orientation, demands, open)

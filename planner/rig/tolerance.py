"""How large an angle error a plan forgives before gaps open, overlap is lost or the picture shows holes.

Together: one camera, set wrong once, turns every panel by the same angle about its own centre. Singly: every
panel is off by an angle of its own. Both are proven, not sampled: the points that a panel keeps under every
turn of an interval form a fixed shape about the middle of the interval, and the plan holds over the whole
interval if those shapes still cover. Intervals that do not pass are halved.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from planner.geometry import sky_basis
from planner.mosaic.demand import Demand, kept_shape
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import own_shapes
from planner.mosaic.proof.cover import Cover
from planner.mosaic.proof.shown import all_shown, deep_inside, lacks_deep
from planner.mosaic.region import Region

__all__ = ["AngleTolerance", "CAP_DEG", "angle_tolerance", "forgives", "gap_at_turn_deg2", "picture_tolerance"]

CAP_DEG = 30.0
"""Larger errors are not looked for."""
RESOLUTION_DEG = 0.01
"""Results are at most this much below the truth."""
FIRST_STEP_DEG = 0.5

Holds = Callable[[float, float], bool]


@dataclass(frozen=True)
class AngleTolerance:
    """Angle errors that a plan forgives, degrees either way; proven lower bounds, at most `CAP_DEG`.

    Parameters
    ----------
    together_deg : float
        All panels turned alike.
    singly_deg : float
        Each panel turned on its own, in whichever way is worst.
    """

    together_deg: float
    singly_deg: float


def angle_tolerance(
    mosaic: Mosaic, *, box: tuple[float, float] = (0.0, 0.0), shift_rad: float = 0.0
) -> AngleTolerance | None:
    """Angle errors under which every point of the region stays covered, with a box about it if given.

    Parameters
    ----------
    mosaic : Mosaic
    box : (float, float)
        Half sizes, in the panels' tangent planes, of the box that must stay inside a panel. (0, 0): no gap.
    shift_rad : float
        Pointing error and dither that come on top, radians.

    Returns
    -------
    AngleTolerance or None
        None if not even a perfect camera holds this.
    """
    return _tolerance(mosaic, mosaic.region, box, shift_rad)


def picture_tolerance(mosaic: Mosaic, picture: Region) -> AngleTolerance | None:
    """Angle errors under which the panels fill the whole picture; None if they never do.

    Parameters
    ----------
    mosaic : Mosaic
    picture : Region
        The rectangle of the print.
    """
    return _tolerance(mosaic, picture, (0.0, 0.0), 0.0)


def forgives(mosaic: Mosaic, error_deg: float, *, shift_arcmin: float = 0.0) -> bool:
    """Whether no gap opens however each panel is turned by up to an error, one proof for that error alone.

    Parameters
    ----------
    mosaic : Mosaic
    error_deg : float
        Either way, 0 or more.
    shift_arcmin : float
        Pointing error and dither that come on top.
    """
    turn_rad, shift_rad = math.radians(error_deg), math.radians(shift_arcmin / 60)
    shape = kept_shape(mosaic.field, shift_rad=shift_rad, turn_rad=turn_rad)
    return bool(shape) and all_shown(_cover(mosaic, mosaic.region, 0.0), shape)


def gap_at_turn_deg2(mosaic: Mosaic, turn_deg: float) -> float:
    """Area, square degrees, that stays uncovered when all panels are turned alike; 0 without a gap."""
    shape = kept_shape(mosaic.field, shift_rad=0.0, turn_rad=0.0)
    return _cover(mosaic, mosaic.region, turn_deg).gap(Demand(shape, (0.0, 0.0))).area_deg2


def _tolerance(
    mosaic: Mosaic, region: Region, box: tuple[float, float], shift_rad: float
) -> AngleTolerance | None:
    deep = deep_inside(region, box)

    def holds(middle_deg: float, half_deg: float) -> bool:
        shape = kept_shape(mosaic.field, shift_rad=shift_rad, turn_rad=math.radians(half_deg))
        if not shape:
            return False
        cover = _cover(mosaic, region, middle_deg)
        if max(box) == 0.0:
            return all_shown(cover, shape)
        demand = Demand(shape, box)
        return not lacks_deep(cover, demand, deep) and not cover.gap(demand)

    if not holds(0.0, 0.0):
        return None
    singly = _largest(lambda half: holds(0.0, half))
    reach = {sign: _reach(holds, sign, singly) for sign in (1, -1)}
    return AngleTolerance(min(reach.values()), singly)


def _cover(mosaic: Mosaic, region: Region, turn_deg: float) -> Cover:
    """Return the panels turned alike; ground that frames of another size have shown stays as it is."""
    values = [
        (one.ra_deg, one.dec_deg, one.position_angle_deg + (turn_deg if one.field is None else 0.0))
        for one in mosaic.panels
    ]
    return Cover(region, sky_basis(*np.array(values).T), own_shapes(mosaic.panels))


def _largest(holds: Callable[[float], bool]) -> float:
    """Largest half width, up to the cap, that holds; what holds for a width holds for every smaller one."""
    low, high = 0.0, FIRST_STEP_DEG
    while holds(high):
        if high >= CAP_DEG:
            return CAP_DEG
        low, high = high, min(CAP_DEG, 2 * high)
    while high - low > RESOLUTION_DEG:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _reach(holds: Holds, sign: int, start_deg: float) -> float:
    """How far all panels can turn alike from `start_deg` on, proven interval by interval."""
    reached, step = start_deg, max(start_deg, FIRST_STEP_DEG) / 2
    while reached < CAP_DEG and step > RESOLUTION_DEG / 2:
        end = min(CAP_DEG, reached + step)
        if holds(sign * (reached + end) / 2, (end - reached) / 2):
            reached, step = end, 2 * step
        else:
            step /= 2
    return reached

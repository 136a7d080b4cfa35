"""What angle errors a plan forgives: before a gap opens, overlap is lost or the print has a hole."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from planner.mosaic.mosaic import Mosaic
from planner.mosaic.region import Region

from .tolerance import AngleTolerance, angle_tolerance, picture_tolerance

__all__ = ["Tolerances", "measure_tolerances"]

MOST_PANELS = 2000
"""Beyond, the proofs would take minutes."""
ARCMIN_RAD = math.radians(1 / 60)


@dataclass(frozen=True)
class Tolerances:
    """Angle errors that the plan forgives; each None where not even a perfect camera holds it.

    Parameters
    ----------
    gap : AngleTolerance or None
        Before a gap opens, pointing error and dither of the plan on top.
    overlap : AngleTolerance or None
        Before less is left than the overlap asked for.
    picture : AngleTolerance or None
        Before the print shows a hole.
    overlap_asked : float
    shift_arcmin : float
        Pointing error and dither that `gap` holds against at the same time.
    measured : bool
        False where nothing was worked out, since there are too many panels.
    """

    gap: AngleTolerance | None
    overlap: AngleTolerance | None
    picture: AngleTolerance | None
    overlap_asked: float
    shift_arcmin: float = 0.0
    measured: bool = True


@lru_cache(maxsize=64)
def measure_tolerances(
    mosaic: Mosaic,
    *,
    picture: Region | None = None,
    box: tuple[float, float] | None = None,
    shift_arcmin: float = 0.0,
) -> Tolerances:
    """Prove how large an angle error the plan forgives; what was last asked is not worked out again.

    Parameters
    ----------
    mosaic : Mosaic
    picture : Region, optional
        The rectangle of the print.
    box : (float, float), optional
        Half sizes, in a panel's tangent plane, of the box that the overlap asked for stands for; left out,
        that fraction of the panel's sides.
    shift_arcmin : float
        Pointing error and dither that come on top of the angle error. If the plan does not hold against them
        even at a perfect angle, the tolerance is told without them.
    """
    field, asked = mosaic.field, mosaic.overlap_asked
    if len(mosaic.panels) > MOST_PANELS:
        return Tolerances(None, None, None, asked, measured=False)
    gap = angle_tolerance(mosaic, shift_rad=shift_arcmin * ARCMIN_RAD)
    if gap is None and shift_arcmin > 0.0:
        gap, shift_arcmin = angle_tolerance(mosaic), 0.0
    return Tolerances(
        gap=gap,
        overlap=angle_tolerance(mosaic, box=box or (asked * field.half_width, asked * field.half_height)),
        picture=None if picture is None else picture_tolerance(mosaic, picture),
        overlap_asked=asked,
        shift_arcmin=shift_arcmin,
    )

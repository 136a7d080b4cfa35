"""One frame about each of many shapes: the best, the angles that do, the margin at the camera's present angle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planner.answers.fit import ANY_ANGLE_ARCMIN, ARCMIN, ROUND, Fitted, arcs_in_reach, stretches_in_reach
from planner.halves import in_halves
from planner.mosaic.fit import Opening, Shape, placements_at
from planner.mosaic.fit.each_angles import angles_of_each
from planner.mosaic.fit.each_best import EachBest, best_of_each
from planner.progress import Progress
from planner.rig.reachable_arcs import arcs_rad

if TYPE_CHECKING:
    from planner.mosaic.panel import Field
    from planner.rig.angle_device import AngleDevice

__all__ = ["Framed", "Framing", "frames_of"]

Arc = tuple[float, float]


@dataclass(frozen=True)
class Framing:
    """How frames are asked for.

    Parameters
    ----------
    field : Field
    margin : float
        At all sides, share of the field's short side.
    now_deg : float or None
        The camera's present position angle.
    device : AngleDevice or None
    """

    field: Field
    margin: float
    now_deg: float | None
    device: AngleDevice | None

    @property
    def margin_asked_arcmin(self) -> float:
        """At all sides, arc minutes of the tangent plane."""
        return self.margin * 2 * min(self.field.half_width, self.field.half_height) * ARCMIN

    @property
    def arcs_deg(self) -> tuple[Arc, ...] | None:
        """First angle and span, modulo 180, that the device reaches; None where all are."""
        return arcs_in_reach(self.device, self.field.period_deg)


@dataclass(frozen=True)
class Framed(Fitted):
    """One frame about a shape.

    Parameters
    ----------
    placement : Placement
        With the largest margin, at an angle that the device reaches.
    fits_at_deg : tuple of (float, float)
        Angles at which some centre leaves the margin asked for.
    margin_now_arcmin : float or None
        At the camera's present angle, at the best centre for it.
    """

    fits_at_deg: tuple[Arc, ...]
    margin_now_arcmin: float | None


def frames_of(
    shapes: Sequence[Shape], framing: Framing, *, progress: Progress | None = None
) -> tuple[Framed, ...]:
    """Return the best frame of each shape, as `fit` finds it, and the angles at which it has the margin asked for.

    Parameters
    ----------
    shapes : sequence of Shape
    framing : Framing
    progress : callable, optional
    """
    return tuple(
        in_halves(lambda some, here: _framed(some, framing, progress if here else None), shapes, least=200)
    )


def _framed(shapes: Sequence[Shape], framing: Framing, progress: Progress | None) -> list[Framed]:
    opening, arcs = Opening.margins(framing.field), framing.arcs_deg
    allowed = arcs_rad(arcs)
    best = list(best_of_each(shapes, opening, allowed, progress=progress))
    if arcs is None:
        best = _north_up(shapes, opening, best)
    least = framing.margin_asked_arcmin / ARCMIN
    fits_at = [stretches_in_reach(one, arcs) for one in angles_of_each(shapes, opening, least, best)]
    now: list[float | None] = [None] * len(shapes)
    if framing.now_deg is not None:
        placed = placements_at(shapes, opening, math.radians(framing.now_deg))
        now = [one.room * ARCMIN for one in placed]
    return [
        Framed(one.placement, angles, margin) for one, angles, margin in zip(best, fits_at, now, strict=True)
    ]


def _north_up(shapes: Sequence[Shape], opening: Opening, best: list[EachBest]) -> list[EachBest]:
    """Put north up where the angle makes no difference, as `fit` does."""
    spread = np.array([one.spread for one in best]) * ARCMIN
    close = np.array([max(ANY_ANGLE_ARCMIN, ROUND * ARCMIN * math.tan(one.radius_rad)) for one in shapes])
    which = np.flatnonzero(spread < close).tolist()
    placed = placements_at([shapes[k] for k in which], opening, 0.0)
    for k, placement in zip(which, placed, strict=True):
        best[k] = replace(best[k], placement=placement)
    return best

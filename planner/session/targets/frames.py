"""The frames of targets at one camera angle: where each leaves the largest margin, and its corners."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from planner.geometry import footprint_vectors, sky_basis, vector_to_sky
from planner.mosaic.fit import Opening, Shape, placements_at

if TYPE_CHECKING:
    from planner.answers.targets.sky import Thing
    from planner.answers.targets.target import Target
    from planner.mosaic.panel import Field

__all__ = ["TargetFrame", "frames_at"]

ARCMIN = math.degrees(60.0)
"""Arc minutes in a radian of the tangent plane."""


@dataclass(frozen=True)
class TargetFrame:
    """The frame that holds a target best at an angle.

    Parameters
    ----------
    center_deg : (float, float)
    margin_arcmin : float
        The least at its sides; below 0 where it cuts something.
    corners_deg : tuple of (float, float)
        SE, SW, NW, NE as seen at position angle 0.
    """

    center_deg: tuple[float, float]
    margin_arcmin: float
    corners_deg: tuple[tuple[float, float], ...]


def frames_at(targets: Sequence[Target], field: Field, angle_deg: float) -> tuple[TargetFrame, ...]:
    """Return the best frame of each target at one position angle, degrees east of north."""
    if not targets:
        return ()
    placed = placements_at(
        [_shape(one.nebulae) for one in targets], Opening.margins(field), math.radians(angle_deg)
    )
    bases = np.stack([sky_basis(*one.center_deg, angle_deg) for one in placed])
    ra_deg, dec_deg = vector_to_sky(footprint_vectors(bases, field.half_width, field.half_height))
    corners = np.round(np.stack([ra_deg, dec_deg], axis=-1), 6).tolist()
    return tuple(
        TargetFrame(one.center_deg, one.room * ARCMIN, tuple(map(tuple, four)))
        for one, four in zip(placed, corners, strict=True)
    )


@cache
def _things() -> dict[int, Thing]:
    from planner.answers.targets.sky import all_things

    return {thing.nebula.index: thing for thing in all_things()}


@cache
def _shape(nebulae: tuple[int, ...]) -> Shape:
    things = [_things()[index] for index in nebulae]
    if len(things) == 1:
        return things[0].shape
    return Shape.around([ring for thing in things for ring in thing.rings])

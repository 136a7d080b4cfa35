"""Which targets plans cover already."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.answers.find_region import find_region
from planner.geometry import vector_to_plane
from planner.mosaic.region import Region
from planner.request.request import Request

from .sky import Thing

__all__ = ["planned_as"]

SLACK = 1e-6
"""Tangent plane (0.2 arc seconds): outlines that are the same may differ by rounding."""
FARTHEST_COSINE = 0.3
"""What lies farther from a region's middle is not in it."""


def planned_as(things: Sequence[tuple[Thing, ...]], plans: Sequence[Request]) -> list[str | None]:
    """Return for each nebula or group the title of the first plan whose region holds all of it; None where none does.

    Raises
    ------
    InputError
        If the region of a plan cannot be found.
    """
    found: list[str | None] = [None] * len(things)
    for plan in plans:
        region = find_region(plan.region).region
        for k in _held(things, region):
            found[k] = found[k] or plan.title
    return found


def _held(things: Sequence[tuple[Thing, ...]], region: Region) -> list[int]:
    """Which nebulae or groups lie in a region."""
    if not things:
        return []
    middles = np.stack([one[0].shape.basis[2] for one in things])
    near = np.flatnonzero(middles @ region.basis[2] > FARTHEST_COSINE).tolist()
    flat = region.polygon.buffer(SLACK)
    shapely.prepare(flat)
    return [k for k in near if all(_holds(flat, one, region.basis) for one in things[k])]


def _holds(flat: shapely.Geometry, thing: Thing, basis: NDArray[np.float64]) -> bool:
    seen = vector_to_plane(thing.shape.corners, basis)
    if not np.isfinite(seen).all() or not shapely.contains_xy(flat, *seen[0]):
        return False
    return all(bool(flat.covers(shapely.Polygon(vector_to_plane(ring, basis)))) for ring in thing.rings)

"""Sets of corners about the troublesome places, and fields tried over them one by one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky
from planner.mosaic.fit import Opening, Placement
from planner.mosaic.panel import Field
from tests.hard_fields import HardField

__all__ = ["about", "margins_at", "opening_of", "tried"]

Array = NDArray[np.float64]


def opening_of(field: HardField) -> Opening:
    return Opening.margins(Field(field.width_deg, field.height_deg))


def about(field: HardField, seed: int, *, size: float = 0.7, count: int = 12) -> Array:
    """Corners (N, 3) strewn about a field's centre over a part of its size, none sorted, none turned with it."""
    random = np.random.default_rng(seed)
    half = size * np.array(opening_of(field).half)
    xy = random.uniform(-1, 1, (count, 2)) * half
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg + 360 * random.random())
    return plane_to_vector(xy, basis)


def margins_at(
    corners: Array, opening: Opening, center_deg: tuple[float, float], angle_deg: float
) -> tuple[float, float, float, float]:
    """Margins at the left, right, top and bottom of one field, by the tangent plane alone."""
    x, y = vector_to_plane(corners, sky_basis(*center_deg, angle_deg)).T
    width, height = opening.half
    return (width - x.max(), width + x.min(), height - y.max(), height + y.min())


def tried(corners: Array, opening: Opening, centers: Array, angles_deg: Array) -> Array:
    """The least margin of many fields, centres (M, 3) and angles (M,), by the tangent plane alone."""
    ra_deg, dec_deg = vector_to_sky(centers)
    xy = np.abs(vector_to_plane(corners, sky_basis(ra_deg, dec_deg, angles_deg)[:, None]))
    return np.asarray((np.array(opening.half) - xy.max(axis=1)).min(axis=1))


def strewn(placement: Placement, seed: int, count: int, reach: float) -> tuple[Array, Array]:
    """Centres and angles about a placement, from next to it to as far as the reach."""
    random = np.random.default_rng(seed)
    way = reach * 10 ** -random.uniform(0, 5, count)
    xy = random.normal(0, 1, (count, 2)) * way[:, None]
    centers = plane_to_vector(xy, sky_basis(*placement.center_deg, 0.0))
    spread = 90.0 * 10 ** -random.uniform(0, 4, count)
    return centers, placement.position_angle_deg + random.uniform(-1, 1, count) * spread

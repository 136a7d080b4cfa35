"""All nebulae that have a size, as things to be framed: outlines, shapes, areas; made once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from planner.catalogue.nebulae import all_nebulae, nebula_region
from planner.catalogue.nebulae.nebula import Nebula
from planner.errors import InputError
from planner.geometry import triangle_area_sr
from planner.mosaic.fit import Shape
from planner.mosaic.fit.shapes import shapes_around
from planner.mosaic.region import Region

__all__ = ["Thing", "all_things"]

Array = NDArray[np.float64]
SR_TO_DEG2 = math.degrees(1.0) ** 2


@dataclass(frozen=True, eq=False)
class Thing:
    """A nebula that has a size.

    Parameters
    ----------
    nebula : Nebula
    rings : tuple of ndarray, each of shape (N, 3)
        Its outline, or its ellipse from a catalogue: what a plan file that names it covers.
    shape : Shape
    area_deg2 : float
    """

    nebula: Nebula
    rings: tuple[Array, ...]
    shape: Shape
    area_deg2: float

    @property
    def diameter_arcmin(self) -> float:
        """Of the smallest circle about it."""
        return math.degrees(2 * self.shape.radius_rad) * 60.0


@cache
def all_things() -> tuple[Thing, ...]:
    """Return all nebulae that have a size, in the order of the catalogue's data (about a second, once)."""
    nebulae, found = all_nebulae(), []
    for index in range(len(nebulae)):
        nebula = nebulae[index]
        try:
            found.append((nebula, nebula_region(nebula).parts))
        except InputError:
            continue  # no catalogue has its size
    shapes = shapes_around([rings for _, rings in found])
    areas = _areas_deg2([rings for _, rings in found])
    return tuple(
        Thing(nebula, rings, shape, area)
        for (nebula, rings), shape, area in zip(found, shapes, areas, strict=True)
        if shape is not None
    )


def _areas_deg2(things: list[tuple[Array, ...]]) -> list[float]:
    """Areas of outlines: of a single ring by its triangles, of several as regions, which know holes."""
    rings = [rings[0] for rings in things]
    corners = np.concatenate(rings)
    starts = np.cumsum([0, *(len(ring) for ring in rings[:-1])])
    counts = [len(ring) for ring in rings]
    after = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    middles = np.add.reduceat(corners, starts, axis=0)
    middles /= np.linalg.norm(middles, axis=1, keepdims=True)
    triangles = triangle_area_sr(np.repeat(middles, counts, axis=0), corners, after)
    single = np.abs(np.add.reduceat(triangles, starts)) * SR_TO_DEG2
    return [
        float(one) if len(parts) == 1 else Region.from_rings(parts).area_deg2
        for one, parts in zip(single, things, strict=True)
    ]

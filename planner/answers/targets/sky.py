"""All nebulae that have a size, as things to be framed: outlines, shapes, areas; made once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from planner.catalogue.nebulae import all_nebulae, nebula_region
from planner.catalogue.nebulae.nebula import Nebula
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
    ring_area_deg2 : float
        Of the first ring alone.
    """

    nebula: Nebula
    rings: tuple[Array, ...]
    shape: Shape
    ring_area_deg2: float

    @cached_property
    def area_deg2(self) -> float:
        """Of the one ring, or of several, which may be pieces and holes, as a region."""
        return self.ring_area_deg2 if len(self.rings) == 1 else Region.from_rings(self.rings).area_deg2

    @property
    def diameter_arcmin(self) -> float:
        """Of the smallest circle about it."""
        return math.degrees(2 * self.shape.radius_rad) * 60.0


@cache
def all_things() -> tuple[Thing, ...]:
    """Return all nebulae that have a size, in the order of the catalogue's data (about a second, once)."""
    nebulae = all_nebulae()
    every = (nebulae[index] for index in range(len(nebulae)))
    found = [(nebula, nebula_region(nebula).parts) for nebula in every if nebula.has_extent]
    shapes = shapes_around([rings for _, rings in found])
    areas = _areas_deg2([rings[0] for _, rings in found])
    return tuple(
        Thing(nebula, rings, shape, area)
        for (nebula, rings), shape, area in zip(found, shapes, areas, strict=True)
        if shape is not None
    )


def _areas_deg2(rings: list[Array]) -> list[float]:
    """Areas inside rings, by triangles about the middle of each."""
    corners = np.concatenate(rings)
    counts = [len(ring) for ring in rings]
    starts = np.cumsum([0, *counts[:-1]])
    after = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    middles = np.add.reduceat(corners, starts, axis=0)
    middles /= np.linalg.norm(middles, axis=1, keepdims=True)
    triangles = triangle_area_sr(np.repeat(middles, counts, axis=0), corners, after)
    areas: list[float] = (np.abs(np.add.reduceat(triangles, starts)) * SR_TO_DEG2).tolist()
    return areas

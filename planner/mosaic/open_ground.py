"""Open ground: the part of a region that panels which stay leave to be served, for each demand.

A point is served by one panel alone, with its box cut by the whole region. So what kept panels serve asks nothing of
further ones, and these must serve every point of the open ground, as if the kept panels were not there.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import plane_to_vector, vector_to_plane

from .demand import Demand
from .panel import Shape
from .region import Region

__all__ = ["OpenGround"]

Array = NDArray[np.float64]
INSIDE = 1e-7
"""Radians (0.02 arc seconds) that points which bound a count keep from what kept panels serve; cores are trimmed by
far less."""
APART = 1e-10
"""Radians by which pieces that touch are drawn apart, so that they may be pieces of a region."""
BESIDE = 1e-9
"""Radians by which points of gaps may lie beside the open ground, by rounding."""


@dataclass(frozen=True, eq=False)
class OpenGround:
    """What kept panels leave, by demand.

    Parameters
    ----------
    region : Region
        The whole region.
    shapes : mapping of Demand to shapely geometry
        In the region's tangent plane.
    bases : ndarray, shape (K, 3, 3)
        Of the kept panels.
    own : tuple, optional
        Shapes of kept panels that show something else than the plan's panels do, as in a cover.
    """

    region: Region
    shapes: Mapping[Demand, shapely.Geometry]
    bases: Array
    own: tuple[Shape | None, ...] | None = None

    @property
    def area_deg2(self) -> float:
        """Of the demand that leaves most, about: as measured in the region's tangent plane."""
        return max(float(shape.area) for shape in self.shapes.values()) * math.degrees(1.0) ** 2

    def part(self, demand: Demand) -> Region | None:
        """Return the ground that is open for a demand, as a region; None where there is none."""
        return self._parts[demand]

    def inner(self, demand: Demand) -> Region | None:
        """Return the ground of which kept panels serve no point in truth, whatever rounding does; None if empty."""
        return self._inner[demand]

    def asks(self, demand: Demand, vectors: Array) -> NDArray[np.bool_]:
        """Whether points, unit vectors (N, 3), are to be served for a demand, shape (N,)."""
        shape = self._wide[demand]
        shapely.prepare(shape)
        return np.asarray(shapely.contains_xy(shape, *vector_to_plane(vectors, self.region.basis).T))

    def deepest(self, demand: Demand) -> Array:
        """Unit vectors (N, 3) of points deep inside the pieces of open ground, one in each."""
        pieces = shapely.get_parts(self.shapes[demand])
        lines = shapely.maximum_inscribed_circle(pieces, tolerance=0.0)
        xy = shapely.get_coordinates(shapely.get_point(lines, 0))
        return plane_to_vector(xy, self.region.basis)

    @cached_property
    def _parts(self) -> dict[Demand, Region | None]:
        return self._shrunk(APART)

    @cached_property
    def _inner(self) -> dict[Demand, Region | None]:
        return self._shrunk(INSIDE)

    def _shrunk(self, by: float) -> dict[Demand, Region | None]:
        """Regions of the shapes without a rim of some width."""
        return {
            demand: _region_of(self.region, shapely.buffer(shape, -by, join_style="mitre"))
            for demand, shape in self.shapes.items()
        }

    @cached_property
    def _wide(self) -> dict[Demand, shapely.Geometry]:
        return {demand: shapely.buffer(shape, BESIDE) for demand, shape in self.shapes.items()}


def _region_of(region: Region, flat: shapely.Geometry) -> Region | None:
    """Return polygons of a region's plane as a region; None where they are too small for one."""
    try:
        return region.cut_to(flat)
    except InputError:
        return None

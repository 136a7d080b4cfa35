"""Points that stand for a whole region: a lattice square with the panels, and the region's rim."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, steady, vector_to_plane

from .chart import Chart
from .demand import Demand
from .orientation import Orientation
from .poles import is_steep
from .region import Region
from .rings import following_in_rings

__all__ = ["lattice_points", "points_on_lines", "region_points", "spacing", "square_points", "within"]

Array = NDArray[np.float64]
PARTS = 10
"""Points along each side of a panel's core in a search."""
MOST_POINTS = 8000
"""Large regions get fewer points a panel, so that there are about so many."""
LEAST_PARTS = 4
HAIR = 2e-3


def lattice_points(
    region: Region, chart: Chart, steps: tuple[float, float], *, phase: tuple[float, float] = (0.5, 0.5)
) -> Array:
    """Points of the region on lattice lines: where two lines cross, and where a line meets the rim.

    The region's corners belong to them too, thinned where they stand closer than half a step.

    Parameters
    ----------
    region : Region
    chart : Chart
    steps : (float, float)
        Between lines of equal u and of equal v.
    phase : (float, float)
        Where the first lines lie, in steps from the region's least u and v.

    Returns
    -------
    ndarray, shape (P, 3)
        Unit vectors, inside the region or on its rim.
    """
    rim = _Rim(region, chart, min(steps) / 3)
    low, high = rim.uv.min(axis=0), rim.uv.max(axis=0)
    lines = [np.arange(low[axis] + phase[axis] * steps[axis], high[axis], steps[axis]) for axis in (0, 1)]
    corners = plane_to_vector(_thinned_corners(region, min(steps) / 2), region.basis)
    return np.concatenate([_where_lines_meet(region, chart, rim, lines), corners])


def points_on_lines(region: Region, chart: Chart, lines: Sequence[Array], *, longest: float) -> Array:
    """Points of the region where lines of equal u and lines of equal v cross, and where a line meets the rim.

    Parameters
    ----------
    region : Region
    chart : Chart
    lines : (ndarray, ndarray)
        The u of the first lines, the v of the others.
    longest : float
        The rim is taken as straight, in the chart, between points at most so far apart (radians).

    Returns
    -------
    ndarray, shape (P, 3)
        Unit vectors, inside the region or on its rim.
    """
    return _where_lines_meet(region, chart, _Rim(region, chart, longest), lines)


def _where_lines_meet(region: Region, chart: Chart, rim: _Rim, lines: Sequence[Array]) -> Array:
    grid = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 2)
    vectors = chart.vectors(grid)
    inside = within(region, vectors)
    crossings = [_crossings(rim.xy, rim.following, rim.uv[:, axis], lines[axis]) for axis in (0, 1)]
    return np.concatenate([vectors[inside], plane_to_vector(np.concatenate(crossings), region.basis)])


class _Rim:
    """Points along the rim, at most `longest` apart, in the region's plane and in a chart, and who follows."""

    def __init__(self, region: Region, chart: Chart, longest: float) -> None:
        self.xy, self.following = _divided_rim(region, longest)
        self.uv = chart.place(plane_to_vector(self.xy, region.basis))


def region_points(region: Region, orientation: Orientation, demands: Sequence[Demand]) -> Array:
    """Points for a search: a lattice that is square with the panels where they hardly turn against each other."""
    core = np.min([demand.core for demand in demands], axis=0) * 2
    count = region.polygon.area / float(core.prod())
    parts = int(np.clip(math.sqrt(MOST_POINTS / max(count, 1.0)), LEAST_PARTS, PARTS))
    return square_points(
        region, orientation, (spacing(float(core[0]), parts), spacing(float(core[1]), parts))
    )


def square_points(region: Region, orientation: Orientation, steps: tuple[float, float]) -> Array:
    """Lattice points along the panels' axes, or about the region's middle where these differ from place to place.

    Parameters
    ----------
    region : Region
    orientation : Orientation
    steps : (float, float)
        As in `lattice_points`; near a pole the smaller one counts.
    """
    if is_steep(region, orientation):
        orientation, steps = Orientation.square_with(*region.center_deg, 0.0), (min(steps), min(steps))
    return lattice_points(region, Chart(orientation, region.basis[2]), steps)


def spacing(length: float, parts: int) -> float:
    """Distance so that a length holds `parts` points, however it lies, and misses one more by a hair."""
    return length / parts * (1.0 + HAIR)


def within(region: Region, vectors: Array) -> NDArray[np.bool_]:
    """Whether unit vectors (N, 3) lie inside a region, shape (N,)."""
    xy = vector_to_plane(vectors, region.basis)
    known = np.asarray(np.isfinite(xy).all(axis=-1))
    return np.asarray(known & shapely.contains_xy(region.polygon, *np.where(known[:, None], xy, 0.0).T))


def _divided_rim(region: Region, longest: float) -> tuple[Array, NDArray[np.intp]]:
    """Points along the rim in the region's plane, corners among them, at most `longest` apart, and who follows."""
    start_xy, end_xy = region.edges[:, 0], region.edges[:, 1]
    length = steady.hypot(*(end_xy - start_xy).T)
    pieces = np.maximum(1, np.ceil(length / longest)).astype(int)
    start = np.repeat(np.cumsum(pieces) - pieces, pieces)
    share = (np.arange(pieces.sum()) - start) / np.repeat(pieces, pieces)
    edge = np.repeat(np.arange(len(pieces)), pieces)
    rim = start_xy[edge] + share[:, None] * (end_xy[edge] - start_xy[edge])
    return np.asarray(rim), following_in_rings(region.edge_rings[edge])


def _crossings(rim: Array, following: NDArray[np.intp], value: Array, lines: Array) -> Array:
    """Points of the rim, in the region's plane, where a chart coordinate takes the lines' values."""
    after = value[following]
    line, piece = np.nonzero((value < lines[:, None]) != (after < lines[:, None]))
    share = (lines[line] - value[piece]) / (after[piece] - value[piece])
    return np.asarray(rim[piece] + share[:, None] * (rim[following][piece] - rim[piece]))


def _thinned_corners(region: Region, closest: float) -> Array:
    """Corners of the outline in the region's plane, every one that is far enough along the rim from the last."""
    length = steady.hypot(*(region.edges[:, 1] - region.edges[:, 0]).T)
    along = np.concatenate([[0.0], np.cumsum(length)[:-1]])
    ring = region.edge_rings
    steps = np.floor(along / closest) + 2.0 * ring  # every ring begins with a step of its own
    _, first = np.unique(steps, return_index=True)
    return np.asarray(region.edges[first, 0])

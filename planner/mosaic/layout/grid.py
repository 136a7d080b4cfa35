"""Regular grids: equal columns and rows in the spherical system of the region's centre.

For panels square with that system the steps have closed forms. The sides of a core along the system's meridians
meet on the meridian half way between two panels; the corner nearest to the equator is the last to do so:
tan(step / 2) = a / (cos phi + b sin |phi|) with the core's half sizes a, b and the row's latitude phi. Upper and
lower sides of panels in one column are great circles whose latitudes obey tan(lat) = tan(vertex) cos(longitude),
so they meet everywhere when they meet in the middle: step = 2 arctan(b).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import basis_position_angle_deg, steady, vector_to_plane, vector_to_sky, wrapped_deg
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.proof.cover import Cover, find_gap
from planner.mosaic.proof.spare_panels import needed
from planner.mosaic.region import Region

__all__ = ["closest_grid", "fixed_grid", "grid_centers", "slim_grid", "smallest_grid"]

SHARES = (1.0, 0.97, 0.93, 0.88, 0.82, 0.75, 0.67, 0.58, 0.5, 0.4, 0.3, 0.2, 0.13, 0.08)
"""Parts of the steps that are tried where panels are turned against each other."""
MOST_PANELS, MOST_TIMES = 1500, 4
"""Steps are made smaller up to so many panels, or so many times those of full steps if that is more."""
ACROSS = 0.98
"""Of a single row or column so much of the core, to both sides, must keep the overlap."""
POINT_HAIR = 1e-9
"""Radians by which a point may stick out of a panel before it counts."""
MOST_POINTS = 200
"""So many points are looked at before a proof."""
HALVINGS = 24
"""Steps of the search for the widest grid of a camera that nobody turns."""


def grid_centers(
    system: Orientation,
    core: tuple[float, float],
    columns: int,
    rows: int,
    middle_deg: tuple[float, float] = (0.0, 0.0),
) -> NDArray[np.float64]:
    """Centres of a grid whose cores meet, as unit vectors (rows * columns, 3).

    Parameters
    ----------
    system : Orientation
    core : (float, float)
        Half sizes of the cores in the tangent plane, along and across the rows.
    columns, rows : int
        From the top row down; in each from the left (growing longitude is left).
    middle_deg : (float, float)
        Longitude and latitude of the grid's middle in the system.
    """
    latitude = math.radians(middle_deg[1]) + 2 * steady.arctan(core[1]) * ((rows - 1) / 2 - np.arange(rows))
    step = float(
        np.min(2 * steady.arctan2(core[0], steady.cos(latitude) + core[1] * steady.sin(np.abs(latitude))))
    )
    longitude = math.radians(middle_deg[0]) + step * ((columns - 1) / 2 - np.arange(columns))
    grid = np.meshgrid(np.degrees(longitude), np.degrees(latitude))
    return system.centers(*(axis.ravel() for axis in grid))


def fixed_grid(
    region: Region,
    system: Orientation,
    orientation: Orientation,
    demands: Sequence[Demand],
    *,
    columns: int,
    rows: int,
) -> NDArray[np.float64]:
    """Centres of exactly this grid in the middle of a region, with the demanded overlap between neighbours.

    Panels that are turned against each other get closer steps: the largest that serve every point between the
    outer centres.

    Parameters
    ----------
    region : Region
    system : Orientation
        Of rows and columns.
    orientation : Orientation
        Of the panels.
    demands : sequence of Demand
    columns, rows : int
    """
    core, middle = _core(demands), _middle_deg(region, system)

    def grid(share: float) -> NDArray[np.float64]:
        return grid_centers(system, (core[0] * share, core[1] * share), columns, rows, middle)

    centers = grid(1.0)
    if np.allclose(orientation.bases(centers), system.turned_to(0.0).bases(centers), atol=1e-12):
        return centers

    def holds(share: float) -> bool:
        trial = grid(share)
        between = _between(system, middle, trial, core, (columns, rows))
        return not find_gap(between, orientation.bases(trial), demands)

    return grid(_largest(holds))


def slim_grid(
    region: Region, system: Orientation, orientation: Orientation, demands: Sequence[Demand]
) -> NDArray[np.float64] | None:
    """Centres of the smallest grid in the middle of a region that meets all demands, without spare panels.

    Parameters
    ----------
    region : Region
    system : Orientation
        Of rows and columns, its origin in the region.
    orientation : Orientation
        Of the panels.
    demands : sequence of Demand
    """
    found = _meeting_grid(region, system, orientation, demands)
    return None if found is None else found[0][needed(found[1], demands)]


def _meeting_grid(
    region: Region, system: Orientation, orientation: Orientation, demands: Sequence[Demand]
) -> tuple[NDArray[np.float64], Cover] | None:
    core, middle = _core(demands), _middle_deg(region, system)
    if min(core) <= 0:
        return None
    for steps, counts in _steps(region, system, demands):
        if not _keeps_crossings(region, system, orientation, demands[0], steps, counts[-1]):
            continue
        grids = (grid_centers(system, steps, *pair, middle) for pair in counts)
        found = _first_that_meets(region, orientation, grids, demands)
        if found is not None:
            return found
    return None


def closest_grid(
    region: Region, system: Orientation, orientation: Orientation, demands: Sequence[Demand]
) -> NDArray[np.float64] | None:
    """Centres of the full grid with the largest steps that leaves no gap, without panels that nothing needs.

    For where no grid meets all demands, as at a great overlap of panels that are turned against each other: the
    overlap is less than demanded. Where gaps stay it is the one with full steps; None if no core is left of a panel.

    Parameters
    ----------
    region, system, orientation, demands : see `slim_grid`
    """
    if min(_core(demands)) <= 0:
        return None
    middle, shown = _middle_deg(region, system), [demand.with_box((0.0, 0.0)) for demand in demands]
    found: list[tuple[NDArray[np.float64], Cover]] = []
    for steps, counts in _steps(region, system, demands):
        centers = grid_centers(system, steps, *counts[-1], middle)
        found.append((centers, Cover(region, orientation.bases(centers))))
        if not found[-1][1].first_gap(shown):
            return centers[needed(found[-1][1], [*demands, *shown])]
    centers, cover = found[0]
    return centers[needed(cover, [*demands, *shown])]


def _steps(
    region: Region, system: Orientation, demands: Sequence[Demand]
) -> Iterator[tuple[tuple[float, float], list[tuple[int, int]]]]:
    """Steps of grids that may be tried, the largest first, and columns and rows with each."""
    core, most = _core(demands), MOST_PANELS
    half = np.min([demand.half_size for demand in demands], axis=0)
    for share in SHARES:
        steps = (core[0] * share, core[1] * share)
        counts = _counts(region, system, steps, half)
        panels = counts[-1][0] * counts[-1][1]
        most = max(most, MOST_TIMES * panels) if share == SHARES[0] else most
        if panels > most:
            return
        yield steps, counts


def smallest_grid(region: Region, system: Orientation, demands: Sequence[Demand]) -> int:
    """Panels of the smallest full grid that might meet all demands.

    Parameters
    ----------
    region, system, demands : see `slim_grid`
    """
    half = np.min([demand.half_size for demand in demands], axis=0)
    columns, rows = _counts(region, system, _core(demands), half)[0]
    return columns * rows


def _first_that_meets(
    region: Region, orientation: Orientation, grids: Iterable[NDArray[np.float64]], demands: Sequence[Demand]
) -> tuple[NDArray[np.float64], Cover] | None:
    """Return the first grid that meets all demands; once one fails, the last tells whether any other can."""
    half = np.min([demand.half_size for demand in demands], axis=0)
    corners = region.outline_vectors[:: 1 + len(region.outline_vectors) // MOST_POINTS]
    covers = ((centers, Cover(region, orientation.bases(centers))) for centers in grids)
    likely = (pair for pair in covers if _held(pair[1].bases, corners, half).all())
    first = next(likely, None)
    if first is None or not first[1].first_gap(demands):
        return first
    others = list(likely)
    if not others or others[-1][1].first_gap(demands):
        return None
    return next((pair for pair in others[:-1] if not pair[1].first_gap(demands)), others[-1])


def _keeps_crossings(
    region: Region,
    system: Orientation,
    orientation: Orientation,
    demand: Demand,
    steps: tuple[float, float],
    counts: tuple[int, int],
) -> bool:
    """Whether a grid serves points deep inside a region where four of its panels meet: quick to see.

    Those nearest to the pole of the panels' system, where panels are turned most against each other.
    """
    middle, (columns, rows) = _middle_deg(region, system), counts
    crossings = grid_centers(system, steps, columns - 1, rows - 1, middle)
    crossings = crossings[steady.dot(crossings, region.basis[2]) > steady.cos(region.radius_rad)]
    places = shapely.points(vector_to_plane(crossings, region.basis))
    reach = steady.hypot(*demand.box) / steady.cos(region.radius_rad) ** 2
    deep = shapely.distance(region.polygon.boundary, places) > reach
    deep &= shapely.contains(region.polygon, places)
    worst = np.argsort(-np.abs(steady.dot(crossings[deep], orientation.rotation[2])), kind="stable")[
        :MOST_POINTS
    ]
    bases = orientation.bases(grid_centers(system, steps, columns, rows, middle))
    return bool(_held(bases, crossings[deep][worst], np.array(demand.core)).all())


def _held(
    bases: NDArray[np.float64], points: NDArray[np.float64], half: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether each point lies in the rectangle of half sizes of some panel, or a hair beside it."""
    parts = steady.dot(bases[:, None], points[:, None])
    held = (np.abs(parts[..., :2]) <= (half + POINT_HAIR) * parts[..., 2:]).all(axis=-1)
    return np.asarray(held.any(axis=0))


def _middle_deg(region: Region, system: Orientation) -> tuple[float, float]:
    """Longitude and latitude in the middle of the region's extent in a system, degrees."""
    longitude, latitude = vector_to_sky(steady.times(region.outline_vectors, system.rotation.T))
    longitude = wrapped_deg(longitude)
    middle = ((axis.min() + axis.max()) / 2 for axis in (longitude, latitude))
    lon, lat = (0.0 if abs(value) < 1e-9 else float(value) for value in middle)
    return lon, lat


def _core(demands: Sequence[Demand]) -> tuple[float, float]:
    a, b = np.array([demand.core for demand in demands]).min(axis=0) - 1e-9
    return float(a), float(b)


def _counts(
    region: Region, system: Orientation, core: tuple[float, float], half: NDArray[np.float64]
) -> list[tuple[int, int]]:
    """Columns and rows that may reach over the region, the fewest panels first; the last surely do."""
    longitude, latitude = vector_to_sky(steady.times(region.outline_vectors, system.rotation.T))
    longitude = np.radians(wrapped_deg(longitude))
    widest = float(np.ptp(longitude)) if np.ptp(longitude) < np.pi else 2 * region.radius_rad
    sizes = np.array([widest, np.radians(np.ptp(latitude))])
    steps = 2 * steady.arctan(np.array(core))
    least = np.maximum(1, np.ceil((sizes - 2 * steady.arctan(half)) / steps - 0.05).astype(int) + 1)
    pairs = [(int(least[0]) + i, int(least[1]) + j) for i in range(3) for j in range(3)]
    return sorted(pairs, key=lambda pair: (pair[0] * pair[1], pair))


def _between(
    system: Orientation,
    middle_deg: tuple[float, float],
    centers: NDArray[np.float64],
    core: tuple[float, float],
    counts: tuple[int, int],
) -> Region:
    """Region between the outer centres of a grid, and across a single row or column nearly its whole core."""
    plane = system.turned_to(0.0).bases(system.centers(*middle_deg))
    x, y = np.abs(vector_to_plane(centers, plane)).T.reshape(2, counts[1], counts[0])
    width = max(float(x[:, 0].min()), ACROSS * core[0])
    height = max(float(y[0].min()), ACROSS * core[1])
    ra_deg, dec_deg = (float(value) for value in vector_to_sky(plane[2]))
    width_deg, height_deg = (2 * math.degrees(steady.arctan(half)) for half in (width, height))
    return Region.rectangle((ra_deg, dec_deg), width_deg, height_deg, float(basis_position_angle_deg(plane)))


def _largest(holds: Callable[[float], bool]) -> float:
    """Largest share in (0, 1] for which a falling condition holds, from below."""
    if holds(1.0):
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low if low > 0 else 2.0**-HALVINGS

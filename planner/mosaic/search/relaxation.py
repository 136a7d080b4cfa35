"""Lower bounds for an interval of camera angles: how many panels, if panels could be taken in parts.

Points are chosen, each with a rectangle that encloses all places from which a panel serves it (see `enclosure`).
Sets of points that one panel may serve are the largest cliques of these rectangles. The least total of parts of
sets that hold every point is a linear program; its dual solution gives the points weights so that no set weighs
more than 1, and then every plan has at least as many panels as all points weigh.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.demand import Demand

from .chart import Chart
from .cliques import largest_sets
from .enclosure import enclosures
from .points import is_steep, spacing, square_points
from .task import Task

__all__ = ["Relaxation", "proven_count", "relax", "relax_any", "weigh"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
SAFETY = 1e-6
UNIT = 1e-3
"""Rectangles grow to multiples of this part of a panel's short half side."""
ANY_WIDTH_DEG = 10.0
"""Width of the intervals of angles where panels may have any angle."""
MOST_POINTS = 1200
"""Points that one program may have; above that the lattice gets coarser, down to one point a panel."""


@dataclass(frozen=True, eq=False)
class Relaxation:
    """The relaxed cover for an interval of angles.

    Parameters
    ----------
    middle_deg, half_deg : float
        The interval.
    total : float
        Weight of all points: a lower bound of the number of panels.
    vectors : ndarray, shape (C, 3)
        Middles of the places that serve the sets.
    sets : ndarray of bool, shape (C, P)
    """

    middle_deg: float
    half_deg: float
    total: float
    vectors: Array
    sets: Flags

    @property
    def bound(self) -> int:
        """Panels that every plan within the interval has at least."""
        return proven_count(self.total)


def relax(task: Task, middle_deg: float, half_deg: float, parts: int) -> Relaxation:
    """Solve the relaxation for panels within half a width of a middle angle.

    Parameters
    ----------
    task : Task
    middle_deg, half_deg : float
    parts : int
        Points along each side of a panel's core.
    """
    chart = _chart(task, middle_deg)
    turn = task.turn_within(middle_deg, half_deg)
    found = []
    for demand in task.demands:
        points = square_points(task.region, chart.orientation, _steps(task, chart, demand, turn, parts))
        extent, usable = enclosures(task.region, chart, demand, points, turn)
        found.append(extent[usable])
    places, sets = _sets(task, chart, np.concatenate(found))
    total, _ = weigh(sets)
    return Relaxation(middle_deg, half_deg, total, chart.vectors(places), sets)


def relax_any(task: Task, parts: int) -> Relaxation:
    """Solve the relaxation for panels of which each may have any allowed angle of its own.

    Sets are those of all intervals of angles together, over the same points.
    """
    middle, half = next(task.angles.parts(task.angles.period_deg))
    lattice = _chart(task, middle).orientation
    intervals = [(_chart(task, m), task.turn_within(m, h)) for m, h in task.angles.parts(ANY_WIDTH_DEG)]
    found: list[list[Array]] = []
    for demand in task.demands:
        steps = _coarser(task, (2 * demand.core[0], 2 * demand.core[1]), parts)
        points = square_points(task.region, lattice, steps)
        rectangles = [enclosures(task.region, chart, demand, points, turn) for chart, turn in intervals]
        known = np.all([usable for _, usable in rectangles], axis=0)
        found.append([extent[known] for extent, _ in rectangles])
    extents = [np.concatenate(of_demands) for of_demands in zip(*found, strict=True)]
    sets = [_sets(task, chart, extent)[1] for (chart, _), extent in zip(intervals, extents, strict=True)]
    total, _ = weigh(np.concatenate(sets))
    return Relaxation(middle, half, total, np.zeros((0, 3)), np.zeros((0, 0), dtype=bool))


def _chart(task: Task, angle_deg: float) -> Chart:
    orientation = task.orientation_at(angle_deg)
    return Chart(orientation, _reference(task, orientation.rotation[2]))


def _steps(task: Task, chart: Chart, demand: Demand, turn: float, parts: int) -> tuple[float, float]:
    """Distances between lattice lines that fit the rectangle of the region's middle."""
    probe, known = enclosures(task.region, chart, demand, chart.middle[None], turn)
    if not known[0]:
        return _coarser(task, (2 * demand.core[0], 2 * demand.core[1]), parts)
    return _coarser(task, (probe[0, 1] - probe[0, 0], probe[0, 3] - probe[0, 2]), parts)


def _coarser(task: Task, size: tuple[float, float], parts: int) -> tuple[float, float]:
    """Distances between lattice lines, so large that there are not too many points."""
    most = (
        MOST_POINTS / 4 if is_steep(task.region, task.orientation_at(task.angles.start_deg)) else MOST_POINTS
    )
    wider = max(1.0, math.sqrt(task.cores * parts * parts / most))
    return spacing(size[0], parts) * wider, spacing(size[1], parts) * wider


def _sets(task: Task, chart: Chart, extent: Array) -> tuple[Array, Flags]:
    """Places and sets of rectangles; around a pole a set may hold rectangles from both ends of the chart."""
    if not len(extent):
        return np.zeros((0, 2)), np.zeros((0, 0), dtype=bool)
    unit = UNIT * min(min(demand.half_size) for demand in task.demands)
    if not is_steep(task.region, chart.orientation):
        return largest_sets(extent, unit, outward=True)
    step = np.repeat(chart.full_turn, 2)
    places, sets = largest_sets(np.concatenate([extent + k * step for k in (-1, 0, 1)]), unit, outward=True)
    return places, np.asarray(sets.reshape(len(sets), 3, len(extent)).any(axis=1))


def _reference(task: Task, pole: Array) -> Array:
    """Middle of the chart: that of the region, or beside it where that is a pole of the frame."""
    middle = np.asarray(task.region.frame[2])
    if abs(float(middle @ pole)) < 1 - 1e-12:
        return middle
    beside = middle + 1e-3 * task.region.frame[1]
    return np.asarray(beside / np.linalg.norm(beside))


def weigh(sets: Flags) -> tuple[float, Array]:
    """Largest total weight of points so that no set weighs more than 1, and the weights, shape (P,).

    They are made feasible after the program is solved: the total is a bound whatever the solver's tolerances.

    Parameters
    ----------
    sets : ndarray of bool, shape (C, P)
        Every point must be in a set.
    """
    from scipy.optimize import linprog
    from scipy.sparse import csr_matrix

    if not sets.size:
        return 0.0, np.zeros(sets.shape[1])
    matrix = csr_matrix(sets.astype(float))
    result = linprog(-np.ones(sets.shape[1]), A_ub=matrix, b_ub=np.ones(sets.shape[0]), method="highs")
    weights = np.zeros(sets.shape[1]) if result.x is None else np.maximum(result.x, 0.0)
    weights /= max(float((matrix @ weights).max(initial=0.0)), 1.0)
    return float(weights.sum()), weights


def proven_count(total: float) -> int:
    """Least whole number of panels that a relaxed total proves."""
    return max(1, math.ceil(total - SAFETY))

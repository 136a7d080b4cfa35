"""Camera angles worth a try: square with long edges of the region, and those at which sliding rows do best."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.geometry import basis_position_angle_deg, distinct, steady, wrapped_deg
from planner.mosaic.angle_range import AngleRange
from planner.mosaic.layout.flat_rows import count_rows
from planner.mosaic.task import Task

__all__ = ["hint_angles", "row_counts", "rows_at"]

Array = NDArray[np.float64]
MOST_EDGES = 3
MOST_RUNS = 4
STEP_DEG = 1.0
ALIKE_DEG = 2.0
HAIR_DEG = 1e-9
SHORTEST = 0.15
"""Edges shorter than this part of the region's width do not count."""


def row_counts(task: Task, step_deg: float = STEP_DEG) -> tuple[Array, NDArray[np.int64]]:
    """Allowed angles in steps of a degree, and the panels that sliding rows need at each.

    Returns
    -------
    ndarray, shape (A,)
        Degrees; the last one is the range's end, unless that is the start again.
    ndarray of int, shape (A,)
    """
    span = task.angles.span_deg
    past = np.arange(0.0, span + 1e-9, step_deg)
    if span < task.angles.period_deg:
        past = distinct(np.append(past, span))
    elif len(past) > 1:
        past = past[past < span - 1e-9]
    angles = task.angles.start_deg + past
    return angles, rows_at(task, angles)


def rows_at(task: Task, angles_deg: Array) -> NDArray[np.int64]:
    """Panels that sliding rows need at each camera angle, shape (A,), counted as if the region were flat."""
    level = task.orientation_at(0.0)
    return count_rows(task.region, level.turned_to(0.0), task.demands, angles_deg + level.angle_deg)


def hint_angles(task: Task, angles_deg: Array, counts: NDArray[np.int64]) -> tuple[float, ...]:
    """Angles to try: square with long edges, and middles of the best runs; those where rows need least first."""
    found: list[float] = []
    for angle in (*_edge_angles(task), *_best_runs(angles_deg, counts)):
        alike = any(abs(task.angles.turn_deg(other, angle)) < ALIKE_DEG for other in found)
        if task.angles.holds(angle) and not alike:
            found.append(angle)
    if not found:
        return (float(task.angles.start_deg),)
    order = np.argsort(rows_at(task, np.array(found)), kind="stable")
    return tuple(found[k] for k in order)


def _best_runs(angles_deg: Array, counts: NDArray[np.int64]) -> list[float]:
    """Middles of the longest runs of angles with the least count, and with one more."""
    middles: list[float] = []
    for count in (counts.min(), counts.min() + 1):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], counts == count, [False]]).astype(int)))
        runs = sorted(edges.reshape(-1, 2).tolist(), key=lambda run: run[0] - run[1])
        middles += [float(angles_deg[(start + end - 1) // 2]) for start, end in runs]
    return middles[:MOST_RUNS]


def _edge_angles(task: Task) -> list[float]:
    """Camera angles square with the longest edges of the region and of its convex hull, the longest first."""
    region = task.region
    own = float(basis_position_angle_deg(task.orientation_at(0.0).bases(region.basis[2])))
    hull = np.diff(np.asarray(region.polygon.convex_hull.exterior.coords), axis=0)
    ring = np.concatenate([region.edges[:, 1] - region.edges[:, 0], hull])
    length = steady.hypot(*ring.T)
    order = np.argsort(-length, kind="stable")
    order = order[length[order] > SHORTEST * math.sqrt(region.polygon.area)]
    found: list[float] = []
    for x, y in ring[order]:
        angle = (math.degrees(steady.arctan2(x, y)) - own) % 90.0
        if all(abs(wrapped_deg(angle - other, 90.0)) > ALIKE_DEG for other in found):
            found.append(angle)
    along = [angle + turn for angle in found[:MOST_EDGES] for turn in (0.0, 90.0)]
    return [_within(task.angles, angle) for angle in along]


def _within(angles: AngleRange, angle_deg: float) -> float:
    """Return an angle as the range writes it, from its start on; a hair beside the start is the start."""
    past = (angle_deg - angles.start_deg) % angles.period_deg
    return angles.start_deg + (past if HAIR_DEG < past < angles.period_deg - HAIR_DEG else 0.0)

"""How points look from panels of an interval of angles: the places that may serve each, and sets of one panel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import distinct, steady
from planner.mosaic.chart import Chart
from planner.mosaic.demand import Demand
from planner.mosaic.open_ground import OpenGround
from planner.mosaic.poles import is_steep
from planner.mosaic.sample_points import points_on_lines, spacing, square_points
from planner.mosaic.task import Task

from .enclosure import enclosures
from .largest_sets import largest_sets

__all__ = ["CORNERS_TOO", "MIDDLE", "View", "between_edges", "lattices", "view_of"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
UNIT = 1e-3
"""Rectangles grow to multiples of this part of a panel's short half side."""
MOST_POINTS = 1200
"""Points that one lattice may have; above that it gets coarser, down to one point a panel."""
MOST_STEEP_POINTS = 300
"""The same near a pole, where every point counts three times."""
RIM_PARTS = 15
"""The rim is followed in pieces of this part of a core's short half side."""
THINNEST = 2e-6
"""Strips between edges that are narrower than this (radians) get no point."""
MIDDLE = (0.5,)
CORNERS_TOO = (0.02, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98)
"""Shares of the way between neighbouring edges at which points stand, and where the first leave nothing out."""


@dataclass(frozen=True, eq=False)
class View:
    """Points seen from panels within half a width of a middle angle.

    Parameters
    ----------
    task : Task
    chart : Chart
        Of the middle angle.
    turn : float
        How far panels may be turned against that, radians.
    """

    task: Task
    chart: Chart
    turn: float

    def extents(self, points: Sequence[Array]) -> tuple[Array, Flags]:
        """Rectangles (P, 4) of points of each demand in turn, and those that may be used, shape (P,)."""
        found = [
            enclosures(self.task.region, self.chart, demand, of_demand, self.turn)
            for demand, of_demand in zip(self.task.demands, points, strict=True)
        ]
        extent, usable = (np.concatenate(parts) for parts in zip(*found, strict=True))
        return extent, usable

    def sets(self, extent: Array) -> tuple[Array, Flags]:
        """Places (C, 2) and sets (C, P) of rectangles; around a pole they may come from both ends of the chart."""
        if not len(extent):
            return np.zeros((0, 2)), np.zeros((0, 0), dtype=bool)
        unit = UNIT * min(min(demand.half_size) for demand in self.task.demands)
        steps = self._steps()
        places, sets = largest_sets(np.concatenate([extent + s for s in steps]), unit)
        return places, np.asarray(sets.reshape(len(sets), len(steps), len(extent)).any(axis=1))

    def holds(self, extent: Array, places: Array) -> Flags:
        """Whether rectangles hold places, shape (C, P)."""
        u, v = places[:, :1], places[:, 1:]
        found = np.zeros((len(places), len(extent)), dtype=bool)
        for step in self._steps():
            u0, u1, v0, v1 = (extent + step).T
            found |= (u0 <= u) & (u <= u1) & (v0 <= v) & (v <= v1)
        return found

    def _steps(self) -> list[Array]:
        """Steps to where a rectangle stands again: none, or around a pole a full turn either way."""
        if not is_steep(self.task.region, self.chart.orientation):
            return [np.zeros(4)]
        return [k * np.repeat(self.chart.full_turn, 2) for k in (-1, 0, 1)]


def view_of(task: Task, middle_deg: float, half_deg: float) -> View:
    """View of all angles within half a width of a middle one, degrees."""
    orientation = task.orientation_at(middle_deg)
    chart = Chart(orientation, _reference(task, orientation.rotation[2]))
    return View(task, chart, task.turn_within(middle_deg, half_deg))


def lattices(view: View, parts: int) -> list[Array]:
    """Points (P, 3) for each demand, on a lattice square with a view's panels.

    Parameters
    ----------
    view : View
    parts : int
        Points along each side of a panel's core.
    """
    task, orientation = view.task, view.chart.orientation
    if task.open is not None:
        return [_open_points(view, task.open, demand, parts) for demand in task.demands]
    return [
        square_points(task.region, orientation, _spacings(view, demand, parts)) for demand in task.demands
    ]


def _open_points(view: View, ground: OpenGround, demand: Demand, parts: int) -> Array:
    """Points (P, 3) of open ground, none where all of it is too narrow to tell from what is served."""
    part = ground.inner(demand)
    if part is None:
        return np.zeros((0, 3))
    return square_points(part, view.chart.orientation, _spacings(view, demand, parts))


def between_edges(view: View, places: Array, shares: Sequence[float] = MIDDLE) -> list[Array]:
    """Points (P, 3) for each demand, one in each cell that the edges of panels' cores cut the region into, about.

    Between all edges along u and all along v, and on the rim between them: what some of the panels leave unserved
    holds one of these points unless it is very thin, or the edges are bent, or it is a corner of a cell beside the
    rim, where panels serve more than their cores: then more than one point a cell finds it.

    Parameters
    ----------
    view : View
    places : ndarray, shape (N, 2)
        Of panels.
    shares : sequence of float
        How far points stand between neighbouring edges, 0 to 1; each with each.
    """
    task, chart = view.task, view.chart
    if is_steep(task.region, chart.orientation):
        return [np.zeros((0, 3)) for _ in task.demands]
    found = []
    for demand in task.demands:
        part = task.region if task.open is None else task.open.inner(demand)
        lines = [_between(places[:, axis], demand.core[axis], shares) for axis in (0, 1)]
        longest = min(demand.core) / RIM_PARTS
        found.append(points_on_lines(part, chart, lines, longest=longest) if part else np.zeros((0, 3)))
    return found


def _between(places: Array, half: float, shares: Sequence[float]) -> Array:
    """Shares of the way between neighbouring edges of intervals of a half width about places, along one axis."""
    edges = distinct(np.concatenate([places - half, places + half]))
    wide = np.diff(edges) > THINNEST
    return np.concatenate([((1.0 - s) * edges[:-1] + s * edges[1:])[wide] for s in shares])


def _spacings(view: View, demand: Demand, parts: int) -> tuple[float, float]:
    """Distances between lattice lines that fit the rectangle of the region's middle, unless that is too many."""
    task = view.task
    probe, known = enclosures(task.region, view.chart, demand, view.chart.middle[None], view.turn)
    width, height = 2 * demand.core[0], 2 * demand.core[1]
    if known[0]:
        width, height = probe[0, 1] - probe[0, 0], probe[0, 3] - probe[0, 2]
    most = MOST_STEEP_POINTS if is_steep(task.region, view.chart.orientation) else MOST_POINTS
    wider = max(1.0, math.sqrt(task.cores * parts * parts / most))
    return spacing(float(width), parts) * wider, spacing(float(height), parts) * wider


def _reference(task: Task, pole: Array) -> Array:
    """Middle of the chart: that of the region, or beside it where that is a pole of the system."""
    middle = np.asarray(task.region.basis[2])
    if abs(float(steady.dot(middle, pole))) < 1 - 1e-12:
        return middle
    beside = middle + 1e-3 * task.region.basis[1]
    return np.asarray(beside / np.sqrt(steady.dot(beside, beside)))

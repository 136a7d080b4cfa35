"""Panel count and guaranteed overlap against camera angle: what a nicer angle costs in panels.

Sliding rows count the panels at every degree first; then angles that are spread evenly, and those at which rows
need the fewest, are planned and proven one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.mosaic.build import lay_out
from planner.mosaic.choose import search_task
from planner.mosaic.search.hints import row_counts
from planner.mosaic.search.task import Task
from planner.plan import Effort, Plan, Progress, layout_of, make_plan, terms_of
from planner.regions import SourcedRegion, find_region
from planner.request import Request

__all__ = ["AngleCount", "AngleCurve", "angle_curve"]

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
EVERY_DEG = {"quick": 10, "usual": 5, "thorough": 1}
"""Steps of the angles that are planned, by effort."""
PROMISING = 6
"""So many angles with the fewest panels in rows are planned besides."""
APART_DEG = 2.0
"""Promising angles are at least so far from all others that are planned."""


@dataclass(frozen=True)
class AngleCount:
    """What one camera angle costs.

    Parameters
    ----------
    position_angle_deg : float
        In [0, period).
    past_deg : float
        How far from the start of the angles, at least 0.
    panels : int
        Of the plan at this angle; where it has not been planned an estimate from sliding rows, which take every
        panel as parallel to one frame: where the sky's curvature matters plans can need one or two more.
    overlap_found : float, optional
        Of the plan: the guaranteed overlap, a fraction of the field.
    falls_short : bool
        Whether the plan leaves a gap or gives less than was asked.
    """

    position_angle_deg: float
    past_deg: float
    panels: int
    overlap_found: float | None = None
    falls_short: bool = False

    @property
    def proven(self) -> bool:
        """Whether the angle has really been planned."""
        return self.overlap_found is not None


@dataclass(frozen=True)
class AngleCurve:
    """Panels and overlap against camera angle.

    Parameters
    ----------
    title : str
    angles : tuple of AngleCount
        In steps of a degree, from the start of the range on.
    start_deg, period_deg : float
        The first angle as it was asked; 180, or 90 for a square sensor.
    asked_deg : float, optional
        Angle of `angles` nearest to the one that the request names for its panels or its picture.
    """

    title: str
    angles: tuple[AngleCount, ...]
    start_deg: float
    period_deg: float
    asked_deg: float | None = None

    @property
    def best(self) -> AngleCount:
        """Of the planned angles that give what was asked: the fewest panels, then the most overlap."""
        return min((one for one in self.angles if one.proven), key=_rank)

    @property
    def asked(self) -> AngleCount | None:
        """The angle that the request names, if it names one within the range."""
        return next((one for one in self.angles if one.position_angle_deg == self.asked_deg), None)


def angle_curve(
    request: Request, *, effort: Effort = "quick", progress: Progress | None = None
) -> AngleCurve:
    """Count panels at every camera angle that a request allows, in steps of a degree; a pinned angle is let go.

    Parameters
    ----------
    request : Request
    effort : {'quick', 'usual', 'thorough'}
        How many angles are planned: every tenth degree, every fifth, every one.
    progress : callable, optional

    Raises
    ------
    InputError
        If the region cannot be found or planned, or the request lists its panels.
    """
    if request.panels:
        raise InputError(
            "angles are compared for panels that the planner lays out, got [[panels]]; leave that table out"
        )
    free = replace(request, mosaic=replace(request.mosaic, position_angle_deg=None))
    sourced = find_region(request.region)
    task = search_task(
        sourced.region, terms_of(free), replace(layout_of(free, sourced, "quick"), angle_deg=None)
    )
    angles, rows = row_counts(task)
    counts = _layout_counts(free, sourced, task, angles, rows, progress)
    asked = _asked(request, task, angles)
    chosen = _chosen(angles, counts, EVERY_DEG[effort], cyclic=task.angles.span_deg >= task.angles.period_deg)
    if asked is not None:
        chosen = sorted({*chosen, asked})
    period = task.angles.period_deg
    plans = _plans(request, angles % period, chosen, progress)
    curve = tuple(
        _angle_count(angle, task, int(count), plans.get(k))
        for k, (angle, count) in enumerate(zip(angles.tolist(), counts.tolist(), strict=True))
    )
    asked_deg = None if asked is None else curve[asked].position_angle_deg
    return AngleCurve(request.title, curve, task.angles.start_deg, period, asked_deg)


def _rank(one: AngleCount) -> tuple[bool, int, float]:
    return one.falls_short, one.panels, -round(one.overlap_found or 0.0, 9)


def _angle_count(angle_deg: float, task: Task, count: int, plan: Plan | None) -> AngleCount:
    stands, past = angle_deg % task.angles.period_deg, angle_deg - task.angles.start_deg
    if plan is None:
        return AngleCount(stands, past, count)
    mosaic = plan.mosaic
    return AngleCount(stands, past, len(mosaic.panels), float(mosaic.overlap_found), bool(plan.shortfalls))


def _layout_counts(
    request: Request,
    sourced: SourcedRegion,
    task: Task,
    angles_deg: Array,
    rows: Counts,
    progress: Progress | None,
) -> Counts:
    """Panels at each angle before planning: in rows, or in the grid that the request asks for."""
    layout = layout_of(request, sourced, "quick")
    if layout.columns is not None and layout.rows is not None:
        return np.full_like(rows, layout.columns * layout.rows)
    if layout.kind != "grid":
        return rows
    terms, found = terms_of(request), []
    for k, angle in enumerate(angles_deg):
        if progress is not None:
            progress("counting grids", k / len(angles_deg) / 2)
        found.append(len(lay_out(sourced.region, terms, layout, task.orientation_at(angle))))
    return np.array(found)


def _asked(request: Request, task: Task, angles_deg: Array) -> int | None:
    """Which of the angles is nearest to the one that the request names, if that is in the range."""
    angle = request.mosaic.position_angle_deg
    if angle is None and request.picture is not None:
        angle = request.picture.position_angle_deg
    if angle is None or not task.angles.holds(angle):
        return None
    half = task.angles.period_deg / 2
    return int(np.argmin(np.abs((angles_deg - angle + half) % (2 * half) - half)))


def _chosen(angles_deg: Array, counts: Counts, every_deg: int, *, cyclic: bool) -> list[int]:
    """Which angles to plan: evenly spread ones, and those that promise the fewest panels."""
    even = range(0, len(angles_deg), every_deg)
    around = np.pad(counts, 2, mode="wrap" if cyclic and len(counts) > 1 else "edge")
    nearby = np.lib.stride_tricks.sliding_window_view(around, 5).sum(axis=1)
    chosen = list(even)
    for _ in range(PROMISING):
        gaps = np.abs(angles_deg[:, None] - angles_deg[chosen]).min(axis=1)
        order = np.lexsort((-gaps, nearby, counts))
        chosen += order[gaps[order] >= APART_DEG][:1].tolist()
    return sorted(chosen)


def _plans(
    request: Request, angles_deg: Array, chosen: Sequence[int], progress: Progress | None
) -> dict[int, Plan]:
    """Plans at the chosen angles; an angle at which nothing can be planned has none.

    Raises
    ------
    InputError
        If nothing can be planned at any of them.
    """
    plans: dict[int, Plan] = {}
    trouble: InputError | None = None
    for done, k in enumerate(chosen):
        if progress is not None:
            progress(f"planning at {angles_deg[k]:g} degrees", done / len(chosen))
        try:
            plans[k] = make_plan(_pinned(request, float(angles_deg[k])), effort="quick")
        except InputError as error:
            trouble = error
    if trouble is not None and not plans:
        raise trouble
    return plans


def _pinned(request: Request, angle_deg: float) -> Request:
    mosaic = replace(request.mosaic, position_angle_deg=angle_deg, position_angle_range_deg=None)
    return replace(request, mosaic=mosaic)

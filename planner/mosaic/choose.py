"""The choice of the angle and of the panels where the request leaves them free."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError, SearchStopped
from planner.progress import Progress

from .angle_range import AngleRange
from .bound.bounds_beside import BoundsBeside
from .layout.lay_out import closest_layout, lay_out, orientation_for
from .mosaic import Mosaic
from .proof.cover import find_gap
from .proof.prove import area_bound, mosaic_from_centers
from .region import Region
from .search import (
    EFFORTS,
    Found,
    any_angle_bound,
    bound_for,
    bounds_for,
    hint_angles,
    row_counts,
    search_fewest,
    search_several_angles,
    widened,
)
from .search.served.ground_for import is_flat
from .task import Task
from .terms import Layout, Terms

__all__ = ["choose_layout", "position_angles_deg", "search_task", "searched", "sliding_start"]

GRID_STEP_DEG = 10.0
MANY_CORES, MANY_CURVED_CORES = 100.0, 20.0
"""Larger regions have rows at one angle; about a pole smaller ones too, as free panels do with far fewer there."""
FIRST_ANGLES, FREE_ANGLES = 5, 3
"""Of the angles at which rows promise the fewest panels at most so many are laid out, fewer where a search for free
panels follows, one for many cores."""
FEW_CORES = 12.0
"""Of so few cores free panels are found from any rows as a rule: one angle is enough to begin with."""


def choose_layout(
    region: Region, terms: Terms, layout: Layout, *, progress: Progress | None = None
) -> Mosaic:
    """Return the proven mosaic with the fewest panels at the angles and layouts that are allowed."""
    task = search_task(region, terms, layout)
    with _bounds_begun(region, terms, layout, task) as bounds:
        counted = row_counts(task)
        hints, start = sliding_start(region, terms, layout, task, counted=counted, progress=progress)
        others = _picture_angles(layout, task)
        rows = partial(
            _fewer_in_rows, region, terms, layout, task, hints_deg=hints, promised=int(counted[1].min())
        )
        found = searched(
            task, layout, start, hints, rows=rows, other_angles_deg=others, bounds=bounds, progress=progress
        )
    return mosaic_from_centers(
        region,
        terms,
        layout,
        task.orientation_at(float(found.angles_deg[0])),
        found.centers,
        angles_deg=position_angles_deg(task, found),
        panel_count_bound=found.bound,
    )


def searched(
    task: Task,
    layout: Layout,
    start: Found,
    hints_deg: tuple[float, ...],
    *,
    rows: Callable[[Found], Found] | None = None,
    other_angles_deg: tuple[float, ...] = (),
    bounds: BoundsBeside | None = None,
    progress: Progress | None = None,
) -> Found:
    """Return the best plan that a layout's effort finds from a first one on, and the bound that it proves.

    Parameters
    ----------
    task : Task
    layout : Layout
    start : Found
        A plan in rows, or a fixed grid.
    hints_deg : tuple of float
        Angles worth a try, the best first.
    rows : callable, optional
        Given the plan that a search ends with, returns it or one in rows with fewer panels.
    other_angles_deg : tuple of float
        Angles beside the plan's own at which a wider overlap is welcome.
    bounds : BoundsBeside, optional
        Of free panels, if they have been begun already.
    progress : callable, optional
    """
    effort = EFFORTS[layout.effort]
    if layout.columns is not None:
        return replace(start, bound=len(start))
    if layout.kind != "free":
        any_angle = layout.several_angles > 0
        bound = any_angle_bound(task, start.bound) if any_angle else bound_for(task, start, effort)
        return replace(start, bound=min(bound, len(start)))

    def wider(found: Found) -> Found:
        return widened(task, rows(found) if rows else found, effort, other_angles_deg=other_angles_deg)

    search = partial(search_fewest, task, start, effort=effort, hints_deg=hints_deg, bounds=bounds)
    if not layout.several_angles:
        return search(finish=wider, progress=progress)
    found = replace(search(progress=progress), bound=start.bound)
    return wider(search_several_angles(task, found, layout.several_angles, effort=effort, progress=progress))


@contextlib.contextmanager
def _bounds_begun(region: Region, terms: Terms, layout: Layout, task: Task) -> Iterator[BoundsBeside | None]:
    """Begin with bounds before there is a plan, where they will be asked for."""
    effort = EFFORTS[layout.effort]
    if layout.kind != "free" or layout.columns is not None or not 1.0 < task.cores <= effort.most_cores:
        yield None
        return
    with contextlib.closing(bounds_for(task, area_bound(region, terms), effort)) as bounds:
        yield bounds


def position_angles_deg(task: Task, found: Found) -> NDArray[np.float64]:
    """Position angles, degrees east of north, of the panels of a plan, shape (N,)."""
    pairs = zip(found.angles_deg.tolist(), found.centers, strict=True)
    return np.array(
        [float(task.orientation_at(angle).position_angles_deg(center)) for angle, center in pairs]
    )


def _picture_angles(layout: Layout, task: Task) -> tuple[float, ...]:
    """The picture's angle, where it is given and allowed."""
    angle = layout.picture_angle_deg
    return (angle,) if angle is not None and task.angles.holds(angle) else ()


def search_task(region: Region, terms: Terms, layout: Layout) -> Task:
    """Return what a search is asked: the region, the demands and the angles that a layout allows."""
    return Task(
        region=region,
        demands=terms.demands,
        orientation_at=lambda angle_deg: orientation_for(region, layout.angles, angle_deg),
        angles=_angle_range(layout, terms),
    )


def _angle_range(layout: Layout, terms: Terms) -> AngleRange:
    period = terms.field.period_deg
    if layout.angle_deg is not None:
        return AngleRange(layout.angle_deg % 360.0, 0.0, period)
    return AngleRange.between(layout.angle_range_deg, period)


def sliding_start(
    region: Region,
    terms: Terms,
    layout: Layout,
    task: Task,
    *,
    counted: tuple[NDArray[np.float64], NDArray[np.int64]] | None = None,
    progress: Progress | None = None,
) -> tuple[tuple[float, ...], Found]:
    """Angles worth a try, the best first, and the best plan in rows (or in a grid) at the first few of them.

    Each better plan is told at once. Where none of them meets the demands, the plan is the one that comes closest at
    the first angle. `counted` is what `row_counts` gives, if that is known.
    """
    angles, counts = counted or row_counts(task)
    hints = hint_angles(task, angles, counts)
    if layout.columns is not None:
        return hints, _best_grid(region, terms, layout, task, hints)
    best: Found | None = None
    for angle in hints[: _angles_in_rows(task, layout)]:
        found = _better_in_rows(region, terms, layout, task, angle, best)
        if found is None:
            continue
        if found is not best and progress is not None:
            with contextlib.suppress(SearchStopped):  # the search itself asks again
                progress(f"{len(found)} panels in rows", 0.0)
        best = found
        if len(best) <= counts.min() or (layout.kind == "free" and task.cores <= FEW_CORES):
            break
    if best is None:
        centers = closest_layout(region, terms, task.orientation_at(hints[0]))
        best = Found(centers, np.full(len(centers), hints[0]), area_bound(region, terms))
    return hints, best


def _better_in_rows(
    region: Region, terms: Terms, layout: Layout, task: Task, angle_deg: float, best: Found | None
) -> Found | None:
    """Return rows at an angle where they have fewer panels than the best plan so far, else that plan."""
    try:
        centers = lay_out(region, terms, layout, task.orientation_at(angle_deg))
    except InputError:
        return best
    angles = np.full(len(centers), angle_deg)
    if best is None:
        return Found(centers, angles, area_bound(region, terms))
    return replace(best, centers=centers, angles_deg=angles) if len(centers) < len(best) else best


def _fewer_in_rows(
    region: Region,
    terms: Terms,
    layout: Layout,
    task: Task,
    found: Found,
    *,
    hints_deg: tuple[float, ...],
    promised: int,
) -> Found:
    """Return a plan in rows if that has fewer panels than a plan of one angle that a search has found, else this.

    A search over few cores begins with rows at one angle, and does not always come to what they need at another:
    so many panels as rows promise at their best.
    """
    if found.proven or task.cores > FEW_CORES or promised >= len(found):
        return found
    in_rows = replace(layout, kind="sliding")
    for angle in hints_deg[1:FIRST_ANGLES]:
        found = _better_in_rows(region, terms, in_rows, task, angle, found) or found
    return found


def _angles_in_rows(task: Task, layout: Layout) -> int:
    """At how many angles rows are laid."""
    free = layout.kind == "free"
    flat = not free or is_flat(task.region, task.orientation_at(task.angles.start_deg), task.demands)
    many = MANY_CORES if flat else MANY_CURVED_CORES
    return 1 if task.cores >= many else FREE_ANGLES if free else FIRST_ANGLES


def _best_grid(region: Region, terms: Terms, layout: Layout, task: Task, hints: tuple[float, ...]) -> Found:
    """Return the fixed grid at the angle where it leaves the smallest gap."""
    angles = dict.fromkeys([*hints, *(middle for middle, _ in task.angles.parts(GRID_STEP_DEG))])
    found: list[tuple[float, Found]] = []
    for angle in angles:
        orientation = task.orientation_at(angle)
        centers = lay_out(region, terms, layout, orientation)
        gap = find_gap(region, orientation.bases(centers), terms.demands)
        found.append((gap.area_deg2, Found(centers, np.full(len(centers), angle), len(centers))))
        if not gap:
            break
    return min(found, key=lambda pair: pair[0])[1]

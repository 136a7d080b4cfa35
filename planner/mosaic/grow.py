"""Growing a mosaic: panels that stay where they are, and the fewest others that serve what they leave."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import steady
from planner.progress import Progress

from .build import build_mosaic, refuse_too_many
from .choose import position_angles_deg, search_task, searched, sliding_start
from .kept_memory import keep_freed_memory
from .mosaic import Axes, Mosaic
from .naming import renamed
from .panel import Panel, own_shapes, panel_bases, panel_centers
from .proof.cover import Cover
from .proof.left_open import left_open, with_kept
from .proof.prove import area_bound, panels_at, prove
from .proof.spare_panels import needed
from .region import Region
from .search import Found
from .task import Task
from .terms import Layout, Terms

__all__ = ["grow_mosaic"]

ABOUT = 1.1
"""So many times the box's half diagonal around open ground is laid with rows: all that the boxes there hold."""


def grow_mosaic(
    region: Region,
    terms: Terms,
    layout: Layout,
    kept: Sequence[Panel],
    *,
    used_names: Collection[str] = (),
    present_deg: float | None = None,
    progress: Progress | None = None,
) -> Mosaic:
    """Add the fewest panels to those that stay, so that the whole gives what is asked.

    The count's bound is the number of kept panels and what every plan must add to them: each of the points that they
    do not serve needs a further panel. Kept panels come first in the shooting order; those added get names of rows
    that follow the last row named so far.

    Parameters
    ----------
    region : Region
    terms : Terms
    layout : Layout
        How the added panels may be placed; no fixed grid.
    kept : sequence of Panel
        At least one. Those with a field of their own show that.
    used_names : collection of str
        Names that no added panel may get, beside those of the kept panels.
    present_deg : float, optional
        Camera angle at which added panels stand unless another one takes fewer.
    progress : callable, optional

    Raises
    ------
    InputError
        If the region needs more than 20,000 panels.
    """
    keep_freed_memory()
    kept = _in_order(kept)
    cover = Cover(region, panel_bases(kept), own_shapes(kept))
    ground, orientation, bound = left_open(cover, terms.demands), None, 0
    added: tuple[Panel, ...] = ()
    if ground is not None:
        task = replace(search_task(region, terms, layout), open=ground)
        found = _fewest(terms, layout, task, present_deg, progress)
        orientation, bound = task.orientation_at(float(found.angles_deg[0])), found.bound
        angles_deg = position_angles_deg(task, found)
        new = panels_at(region, terms, layout, orientation, found.centers, angles_deg=angles_deg)
        named = renamed(new, {*used_names, *(one.name for one in kept)})
        added = tuple(replace(one, order=len(kept) + one.order) for one in named)
    return prove(
        region,
        terms,
        (*kept, *added),
        angles=layout.angles,
        axes=Axes(*orientation.origin_deg, orientation.north_angle_deg % 360.0)
        if orientation and layout.angles == "per_panel"
        else None,
        panel_count_bound=len(kept) + bound,
        measure=layout.measure,
    )


def _in_order(kept: Sequence[Panel]) -> tuple[Panel, ...]:
    ranked = sorted(kept, key=lambda one: one.order)
    return tuple(replace(one, order=number, kept=True) for number, one in enumerate(ranked, start=1))


def _fewest(
    terms: Terms, layout: Layout, task: Task, present_deg: float | None, progress: Progress | None
) -> Found:
    """Return the fewest panels that were found to serve open ground, never more than a plan of the whole has."""
    around = _around(task, terms)
    refuse_too_many(around, terms)
    hints, start = _start(around, terms, layout, task, progress)
    if present_deg is not None:
        pinned = replace(layout, angle_deg=present_deg, angle_range_deg=None)
        there = replace(search_task(task.region, terms, pinned), open=task.open)
        first = _start(around, terms, pinned, there, progress)[1]
        found = searched(there, pinned, first, (), progress=progress)
        start = replace(found, bound=start.bound) if len(found) <= len(start) else start
    found = searched(task, layout, start, hints, progress=progress)
    if found.proven or len(found) <= area_bound(task.region, terms):
        return found
    whole = build_mosaic(task.region, terms, replace(layout, measure=False), progress=progress)
    other = _slim(terms, task, Found(panel_centers(whole.panels), _task_angles(whole), found.bound))
    return found if other is None or len(other) >= len(found) else other


def _start(
    around: Region, terms: Terms, layout: Layout, task: Task, progress: Progress | None
) -> tuple[tuple[float, ...], Found]:
    """Angles worth a try, and rows about open ground without the panels that are spare."""
    alone = replace(task, region=around, open=None)
    hints, rows = sliding_start(around, terms, layout, alone, progress=progress)
    return hints, replace(_slim(terms, task, rows) or rows, bound=_floor(task, terms))


def _around(task: Task, terms: Terms) -> Region:
    """Return open ground with all that boxes about its points hold of the region."""
    region = task.region
    assert task.open is not None
    far = ABOUT * max(steady.hypot(*demand.box) for demand in terms.layout_demands)
    stretch = 1.0 + (steady.tan(region.radius_rad) + far) ** 2
    shapes = shapely.union_all([task.open.shapes[demand] for demand in terms.layout_demands])
    try:
        return region.cut_to(shapely.intersection(shapely.buffer(shapes, far * stretch), region.polygon))
    except InputError:  # pieces that touch: rows are laid over the whole
        return region


def _floor(task: Task, terms: Terms) -> int:
    """Panels that open ground's area alone needs."""
    assert task.open is not None
    parts = (task.open.inner(demand) for demand in terms.demands)
    return max([1, *(area_bound(part, terms) for part in parts if part is not None)])


def _slim(terms: Terms, task: Task, plan: Found) -> Found | None:
    """Return a plan without the panels that are spare beside the kept ones; None if it leaves open ground."""
    both = with_kept(task.region, task.open, plan.bases(task))
    if both.first_gap(terms.demands):
        return None
    kept = len(both.bases) - len(plan)
    stays = needed(both, terms.layout_demands, first=kept)[kept:]
    return Found(plan.centers[stays], plan.angles_deg[stays], plan.bound, plan.steps)


def _task_angles(whole: Mosaic) -> NDArray[np.float64]:
    """Camera angles of a mosaic's panels, as a task's orientations take them."""
    if whole.axes is not None:
        return np.full(len(whole.panels), whole.axes.position_angle_deg)
    return np.array([panel.position_angle_deg for panel in whole.panels])

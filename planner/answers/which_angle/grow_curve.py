"""Panel count and guaranteed overlap against camera angle: what a nicer angle costs in panels.

Sliding rows count the panels at every degree first, at once. Then angles are planned and proven one by one and
replace their estimates: the one that is asked for, those at which rows need the fewest, and some that are spread
evenly. The best of them get more effort in the end. What a plan without an angle finds is compared with them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.answers.filled_picture import filled_counts, filled_rectangle
from planner.answers.find_region import find_region
from planner.answers.grow import ALIKE_DEG
from planner.answers.plan import layout_of, terms_of
from planner.errors import InputError
from planner.geometry import steady, wrapped_deg
from planner.mosaic.build import build_mosaic
from planner.mosaic.choose import search_task
from planner.mosaic.layout.lay_out import lay_out
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.poles import LOSING
from planner.mosaic.search.hints import row_counts, rows_at
from planner.mosaic.terms import Layout
from planner.progress import Effort, Progress, silent
from planner.request.picture import smallest_picture
from planner.request.request import Request
from planner.words import angle_words

from .curve import AngleCount, AngleCurve

__all__ = ["angle_curve"]

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
EVERY_DEG = {"quick": 30, "usual": 15, "thorough": 1}
"""Steps of the evenly spread angles that are planned, by effort."""
PROMISING = {"quick": 4, "usual": 6, "thorough": 6}
"""So many angles with the fewest panels in rows are planned besides."""
DEEPER = 3
"""The best angles so many, and the one asked for, are planned with the whole effort in the end."""
BESIDE = 2
"""Angles so many degrees beside the best one are planned too,"""
CLIMBS = 2
"""and again beside a better one among them, so many times in all."""
APART_DEG = 2.0
"""Promising angles are at least so far from all others that are planned."""
FAR_ABOVE = 1.25
"""Where rows need one panel more than this times the best count, no search is made: rows are planned and proven."""


def angle_curve(
    request: Request,
    *,
    effort: Effort = "quick",
    as_planned: bool = True,
    progress: Progress | None = None,
    partial: Callable[[AngleCurve], None] | None = None,
) -> AngleCurve:
    """Count panels at every camera angle that a request allows, in steps of a degree; a pinned angle is let go.

    Where the picture is to be filled, panels of the filled picture are counted, as a plan has them.

    Parameters
    ----------
    request : Request
    effort : {'quick', 'usual', 'thorough'}
        How many angles are planned (every 30th degree, every 15th, every one, and promising ones), and how long
        the search for fewer panels goes on at the best of them.
    as_planned : bool
        Whether the angle that the request names and the one that `make_plan` finds without it are among those
        compared, exactly as they are; else steps of a degree alone.
    progress : Progress, optional
    partial : callable, optional
        Called with the curve as it stands: at once with estimates alone, then after each plan. What it was given
        last is what stays of a work that is stopped by an exception.

    Raises
    ------
    InputError
        If the region cannot be found or planned, or the request lists its panels.
    """
    growth = _Growth(request, effort, progress or silent, as_planned=as_planned)
    return growth.run(partial or (lambda curve: None))


class _Growth:
    """A curve that grows: estimates at every angle, and the best mosaic planned at some."""

    def __init__(self, request: Request, effort: Effort, progress: Progress, *, as_planned: bool) -> None:
        request = request.unsettled
        if request.panels:
            raise InputError(
                "angles are compared for panels that the planner lays out, got [[panels]]; leave that table out"
            )
        self.request, self.effort, self.progress, self.as_planned = request, effort, progress, as_planned
        self.sourced, self.terms = find_region(request.region), terms_of(request)
        planned = layout_of(request, self.sourced, "quick")
        self.layout = replace(planned, angle_deg=None)
        self.filled = request.picture is not None and request.picture.filled
        stands = request.picture.position_angle_deg if request.picture and self.filled else None
        region = self.sourced.region
        if stands is not None:
            self.filled, region = (
                False,
                smallest_picture(request, region, Orientation.common(stands)).as_region(),
            )
        self.region = region
        self.task = search_task(region, self.terms, self.layout)
        self.angles_deg = row_counts(self.task)[0]
        self.estimates, self.steps = self._counted(self.angles_deg), len(self.angles_deg)
        self.mosaics: dict[int, Mosaic] = {}
        self.trouble: InputError | None = None
        self.full: set[int] = set()
        self.asked = self._asked_place(planned.angle_deg)

    def run(self, partial: Callable[[AngleCurve], None]) -> AngleCurve:
        first = self._first()
        partial(self._curve(waiting=len(first)))
        if self._grids_vary:
            self.estimates = self._grids(self.angles_deg)
            first = self._first()
        total = self.as_planned + len(first) + 2 * CLIMBS + (DEEPER if self._goes_deeper else 0)
        if self.as_planned:
            self._plan_freely(1.0 / total)
            partial(self._curve(waiting=total - 1))
        for done, (k, effort) in enumerate(self._work(first), start=int(self.as_planned)):
            self.progress(f"planning at {angle_words(self._stands(k))} degrees", done / total)
            self._plan(k, effort)
            partial(self._curve(waiting=max(1, total - done - 1)))
        if self.trouble is not None and not self.mosaics:
            raise self.trouble
        return self._curve(waiting=0)

    def _work(self, first: list[int]) -> Iterator[tuple[int, Effort]]:
        """Which angle to plan next, and how: quickly to compare, then the best and the asked with all effort."""
        for k in first:
            yield k, "quick"
        for _ in range(CLIMBS):
            for k in self._beside_best():
                yield k, "quick"
        if not self._goes_deeper:
            return
        best = sorted(self.mosaics, key=lambda k: self._count(k).rank)[:DEEPER]
        asked = [] if self.asked is None else [self.asked]
        for k in dict.fromkeys([*asked, *best]):
            if k not in self.full:
                yield k, self.effort

    def _beside_best(self) -> list[int]:
        """Angles on both sides of the best so far, where nothing has been planned: how exact it must be."""
        if not self.mosaics:
            return []
        found, count = min(self.mosaics, key=lambda k: self._count(k).rank), self.steps
        best = self._step_near(self.angles_deg[found])
        beside = [best - BESIDE, best + BESIDE]
        beside = [k % count for k in beside] if self._is_cyclic else [k for k in beside if 0 <= k < count]
        return [k for k in beside if k not in self.mosaics]

    @property
    def _is_cyclic(self) -> bool:
        """Whether the last angle is followed by the first."""
        return self.task.angles.span_deg >= self.task.angles.period_deg

    @property
    def _goes_deeper(self) -> bool:
        return self.request.mosaic.is_free and self.effort != "quick"

    def _first(self) -> list[int]:
        """Angles to plan, in order: the one asked for, then those that promise the fewest panels."""
        angles_deg, estimates = self.angles_deg[: self.steps], self.estimates[: self.steps]
        nearby = _nearby(estimates, cyclic=self._is_cyclic)
        chosen = list(range(0, self.steps, EVERY_DEG[self.effort]))
        for _ in range(PROMISING[self.effort]):
            gaps = np.abs(angles_deg[:, None] - angles_deg[chosen]).min(axis=1)
            order = np.lexsort((-gaps, nearby, estimates))
            chosen += order[gaps[order] >= APART_DEG][:1].tolist()
        asked = [] if self.asked is None else [self.asked]
        hopeful = sorted(chosen, key=lambda k: (estimates[k], nearby[k], k))
        return list(dict.fromkeys([*asked, *hopeful]))

    def _plan(self, k: int, effort: Effort) -> None:
        """Plan at an angle; where a quick plan needs more panels than estimated, with more effort."""
        self._try(k, replace(self.layout, kind="sliding") if self._is_far_above(k) else self.layout, effort)
        found = self._count(k)
        if (
            self.request.mosaic.is_free
            and effort == "quick"
            and found.proven
            and found.panels > self.estimates[k]
        ):
            self._try(k, self.layout, "usual")

    def _try(self, k: int, layout: Layout, effort: Effort) -> None:
        """Plan at an angle, and keep the plan if it is the best there."""
        layout = replace(layout, angle_deg=self._stands(k), angle_range_deg=None, effort=effort)
        mosaic = self._built(layout)
        if mosaic is not None:
            self._keep(k, mosaic)

    def _plan_freely(self, share: float) -> None:
        """Plan as without an angle; the angle that is found is compared as it is."""
        angles = 1 if self.layout.several_angles else self.layout.angles
        layout = replace(self.layout, angles=angles, effort=self.effort)
        mosaic = self._built(layout, lambda what, done: self.progress(what, done * share))
        if mosaic is not None:
            angle_deg = (mosaic.axes or mosaic.panels[0]).position_angle_deg
            k = self._place_of(angle_deg)
            self._keep(k, mosaic)
            self.full.add(k)

    def _built(self, layout: Layout, progress: Progress | None = None) -> Mosaic | None:
        """Return what a layout gives, or None where nothing can be planned."""
        try:
            region = self.region
            if self.filled:
                rectangle, layout = filled_rectangle(self.request, region, self.terms, layout)
                region = rectangle.as_region()
            return build_mosaic(region, self.terms, layout, progress=progress)
        except InputError as error:
            self.trouble = error
            return None

    def _keep(self, k: int, mosaic: Mosaic) -> None:
        """Keep a plan at an angle if it is the best there."""
        before = self._count(k)
        if not before.proven or self._count(k, mosaic).rank < before.rank:
            self.mosaics[k] = mosaic

    def _is_far_above(self, k: int) -> bool:
        """Whether rows need so many panels that no search would make this one of the best angles."""
        if not self.request.mosaic.is_free or not self.mosaics or k == self.asked:
            return False
        best = min(len(mosaic.panels) for mosaic in self.mosaics.values())
        return bool(self.estimates[k] > FAR_ABOVE * best + 1)

    def _curve(self, waiting: int) -> AngleCurve:
        counts = tuple(self._count(k) for k in range(len(self.angles_deg)))
        asked_deg = None if self.asked is None else counts[self.asked].position_angle_deg
        title, angles = self.request.title, self.task.angles
        in_order = tuple(sorted(counts, key=lambda one: one.past_deg))
        return AngleCurve(
            title, in_order, angles.start_deg, angles.period_deg, asked_deg, self._near_pole, waiting
        )

    def _count(self, k: int, mosaic: Mosaic | None = None) -> AngleCount:
        """What an angle costs, by this mosaic or what is known."""
        found, estimate = mosaic or self.mosaics.get(k), int(self.estimates[k])
        stands, past = self._stands(k), float(self.angles_deg[k]) - self.task.angles.start_deg
        if found is None:
            return AngleCount(stands, past, estimate, estimate=estimate)
        overlap, short = float(found.overlap_found), bool(found.shortfalls)
        return AngleCount(stands, past, len(found.panels), overlap, short, estimate, k in self.full)

    def _stands(self, k: int) -> float:
        return float(self.angles_deg[k] % self.task.angles.period_deg)

    @property
    def _grids_vary(self) -> bool:
        return self.layout.kind == "grid" and self.layout.columns is None and not self.filled

    def _grids(self, angles_deg: Array) -> Counts:
        """Panels of full grids at each angle."""
        found = []
        for k, angle in enumerate(angles_deg.tolist()):
            self.progress("counting grids", k / len(angles_deg) / 2)
            found.append(len(lay_out(self.region, self.terms, self.layout, self.task.orientation_at(angle))))
        return np.array(found)

    def _counted(self, angles_deg: Array) -> Counts:
        """Panels at each angle, counted without a plan."""
        if self.layout.columns is not None and self.layout.rows is not None:
            return np.full(len(angles_deg), self.layout.columns * self.layout.rows)
        if self.filled:
            return filled_counts(self.request, self.region, self.terms, angles_deg)
        return rows_at(self.task, angles_deg)

    def _place_of(self, angle_deg: float) -> int:
        """Where an angle stands among those that are compared; between two of them it is added behind all."""
        angles = self.task.angles
        away = np.abs(wrapped_deg(self.angles_deg - angle_deg, angles.period_deg))
        if away.min() <= ALIKE_DEG:
            return int(away.argmin())
        past = (angle_deg - angles.start_deg) % angles.period_deg
        self.angles_deg = np.append(self.angles_deg, angles.start_deg + past)
        counted = self._grids if self._grids_vary else self._counted
        self.estimates = np.append(self.estimates, counted(self.angles_deg[-1:]))
        return len(self.angles_deg) - 1

    def _step_near(self, angle_deg: float) -> int:
        """The whole step that is the nearest to an angle."""
        steps = self.angles_deg[: self.steps]
        return int(np.abs(wrapped_deg(steps - angle_deg, self.task.angles.period_deg)).argmin())

    @cached_property
    def _near_pole(self) -> bool:
        """Whether panels at one angle stand so much turned against each other that rows lose much of them."""
        sky = np.concatenate([self.sourced.region.outline_vectors, self.sourced.region.basis[2:]])
        steepest = steady.arcsin(np.abs(sky[:, 2]).max())
        return self.request.mosaic.angles != "per_panel" and bool(steepest > LOSING)

    def _asked_place(self, planned_deg: float | None) -> int | None:
        """Where the angle stands that a plan takes or its picture has, if that is in the range."""
        angle = planned_deg
        if angle is None and self.request.picture is not None:
            angle = self.request.picture.position_angle_deg
        if angle is None or not self.task.angles.holds(angle):
            return None
        return self._place_of(angle) if self.as_planned else self._step_near(angle)


def _nearby(counts: Counts, *, cyclic: bool) -> Counts:
    """Sums of counts over two angles to both sides: a wide hollow promises more than a narrow one."""
    around = np.pad(counts, 2, mode="wrap" if cyclic and len(counts) > 1 else "edge")
    return np.asarray(np.lib.stride_tricks.sliding_window_view(around, 5).sum(axis=1))

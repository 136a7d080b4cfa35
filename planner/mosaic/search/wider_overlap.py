"""Among plans of equal count, one with a larger guaranteed overlap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.mosaic.demand import Demand
from planner.mosaic.proof.largest_box import largest_box
from planner.mosaic.proof.left_open import left_open, with_kept
from planner.mosaic.task import Task

from .attempt import Attempt
from .effort import Effort
from .fewest import Found

__all__ = ["guaranteed_box", "widened"]

GROWTH = 1.12
"""Boxes grow by this factor first; after a failure by the square root of it, and so on."""
STEPS = 160
CAP = 40.0
"""Boxes are never measured beyond this multiple of the one asked for."""


def widened(task: Task, found: Found, effort: Effort, *, other_angles_deg: Sequence[float] = ()) -> Found:
    """Return a plan with as many panels, and boxes of the first demand as large as a few searches can make them.

    Parameters
    ----------
    task : Task
    found : Found
        Meets the task's demands.
    effort : Effort
    other_angles_deg : sequence of float
        Angles beside the plan's own at which a plan with larger boxes is welcome.
    """
    alone = len(found) < 2 and task.open is None
    hopeless = task.cores > effort.most_cores / 2 or alone or max(task.demands[0].box) <= 0.0
    if hopeless or not effort.widenings:
        return found
    best, scale, growth = found, guaranteed_box(task, found), GROWTH
    own = tuple(dict.fromkeys(np.asarray(found.angles_deg).tolist()))
    for number in range(effort.widenings):
        angles = [own, *((a,) for a in other_angles_deg)][number % (1 + len(other_angles_deg))]
        wider = _try(task, best, scale * growth, angles)
        if wider is None:
            growth = growth**0.5
            continue
        best, scale = wider, max(guaranteed_box(task, wider), scale * growth)
    return best


def guaranteed_box(task: Task, found: Found) -> float:
    """Largest multiple of the first demand's box that fits around every point, proven from below."""
    first, cover = task.demands[0], with_kept(task.region, task.open, found.bases(task))
    return largest_box(cover, first.shape, first.box, expected=1.0, cap=CAP)


def _try(task: Task, found: Found, scale: float, angles_deg: tuple[float, ...]) -> Found | None:
    """Search for a plan with boxes scaled, from where the panels stand."""
    first = task.demands[0]
    wider = first.with_box((first.box[0] * scale, first.box[1] * scale))
    if not len(wider.core_corners()):
        return None
    demands: tuple[Demand, ...] = (wider, *task.demands[1:])
    attempt = Attempt(_opened(task, demands), angles_deg, demands=demands)
    crew = attempt.crew_of(found.centers, found.angles_deg)
    if not attempt.run(crew, STEPS):
        return None
    return Found(attempt.centers, attempt.panel_angles_deg, found.bound, found.steps + attempt.steps)


def _opened(task: Task, demands: Sequence[Demand]) -> Task:
    """Return the task with what kept panels leave open for other demands."""
    if task.open is None:
        return task
    return replace(task, open=left_open(with_kept(task.region, task.open, task.open.bases[:0]), demands))

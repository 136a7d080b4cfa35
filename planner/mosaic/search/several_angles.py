"""A whole number of camera angles inside one mosaic: fewer panels for each further angle that is allowed."""

from __future__ import annotations

import contextlib

from planner.errors import SearchStopped
from planner.mosaic.bound.relaxation import relax_any
from planner.mosaic.task import Task
from planner.progress import Progress

from .attempt import Attempt
from .effort import EFFORTS, Effort
from .fewest import Found

__all__ = ["any_angle_bound", "search_several_angles"]

OFFSETS = 12
"""Further angles are sought on a ring of so many, evenly from the first angle on."""
PARTS = 3


def any_angle_bound(task: Task, floor: int) -> int:
    """Panels that every plan has at least, even if each panel had an angle of its own."""
    return max(floor, relax_any(task, PARTS).bound)


def search_several_angles(
    task: Task,
    start: Found,
    most: int,
    *,
    effort: Effort = EFFORTS["usual"],
    progress: Progress | None = None,
) -> Found:
    """Search for fewer panels with up to a number of camera angles, each set once.

    Angles are added one by one: the one that lets most panels go, or comes nearest to it.

    Parameters
    ----------
    task : Task
    start : Found
        A plan with one angle; its bound is taken as known for any number of angles.
    most : int
        Camera angles allowed, at least 2.
    effort : Effort
        Its moves are shared by the added angles.
    progress : callable, optional
    """
    best = Found(start.centers, start.angles_deg, any_angle_bound(task, start.bound), start.steps)
    angles: tuple[float, ...] = (float(start.angles_deg[0]),)
    share = effort.steps // min(most - 1, OFFSETS - 1)
    for number in range(1, min(most, OFFSETS)):
        if best.proven:
            break
        with contextlib.suppress(SearchStopped):
            if progress is not None:
                count = len(set(best.angles_deg.tolist()))
                progress(f"{len(best)} panels at {count} angles", (number - 1) / (most - 1))
            best, angles = _one_more(task, best, angles, share, effort)
            continue
        break
    return best


def _one_more(
    task: Task, best: Found, angles: tuple[float, ...], steps: int, effort: Effort
) -> tuple[Found, tuple[float, ...]]:
    """Return the best plan with one angle more, and the angles to go on with."""
    added = [angle for angle in _ring(task, angles[0]) if angle not in angles]
    if not added:  # the angle is pinned, or all that are allowed are in use
        return best, angles
    attempts = {angle: Attempt(task, (*angles, angle)) for angle in added}
    most = len(attempts)
    for tries in effort.tries:
        ranked = sorted(attempts, key=lambda angle: (attempts[angle].misses, added.index(angle)))
        for angle in ranked[:most]:
            attempt = attempts[angle]
            if best.proven or sum(a.steps for a in attempts.values()) >= steps:
                break
            best = _fewer(attempt, best, tries)
        most = max(2, most // 3)
    ranked = sorted(attempts, key=lambda angle: (len(attempts[angle].crew) or 10**9, attempts[angle].misses))
    return best, (*angles, ranked[0])


def _fewer(attempt: Attempt, best: Found, tries: int) -> Found:
    """Try one panel less at an attempt's angles; after success, less again."""
    count = len(best) - 1
    crew = attempt.crew
    if len(crew) < count:
        crew = attempt.crew_of(best.centers, best.angles_deg)
    crew = attempt.thinned(crew, count)
    while len(crew) and attempt.run(crew, tries):
        best = Found(attempt.centers, attempt.panel_angles_deg, best.bound, best.steps)
        crew = attempt.search.without_lightest(attempt.crew)
    return best


def _ring(task: Task, first: float) -> list[float]:
    """Allowed angles, evenly from a first one on."""
    step = task.angles.period_deg / OFFSETS
    start, period = task.angles.start_deg, task.angles.period_deg
    around = [start + (first + k * step - start) % period for k in range(1, OFFSETS)]
    return [angle for angle in around if task.angles.holds(angle)]

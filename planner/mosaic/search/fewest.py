"""The search for the fewest panels at the best camera angle, and the proof of how few there can be.

Lower bounds sweep the angles first. Angles whose bound leaves hope for one panel less than the best plan get a
number of moves each; the better half gets more, and so on, while the bounds are refined. Success at an angle goes on
there with one panel less. The search ends when the bound meets the count or the effort is spent.

Bounds are worked out in stages beside the moves (`bounds_beside`), all ordered at once: the first angles are tried
before anything is known of the bounds, the other new ones once all intervals have a bound, each further round after
one more stage; the stages that no round asks for are waited for when the plan is done.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from planner.errors import SearchStopped
from planner.geometry import distinct
from planner.mosaic.bound.angle_bounds import AngleBounds
from planner.mosaic.bound.bounds_beside import BoundsBeside, Chosen
from planner.mosaic.task import Task
from planner.progress import Progress

from .attempt import Attempt
from .effort import EFFORTS, Effort
from .moves import Crew
from .served.ground_for import is_flat

__all__ = ["Found", "bound_for", "bounds_for", "search_fewest"]

Array = NDArray[np.float64]
DROP = 3
"""From round to round one angle in so many stays."""
MANY_CORES = 30.0
"""Larger regions get fewer angles with more moves each; about a pole one, the one where a first laying does best."""
USUAL_CORES = 12.0
"""Larger regions get more moves, in proportion."""
UNTRIED = 3.0
"""Misses that angles are credited with before they have been tried."""
CURVED_FRONTS = 2
"""Fronts on curved ground, where they take long."""
EARLY = 3
"""So many angles are tried before anything is known of the bounds, and as many while their first stage goes on."""
NEIGHBOURS = 2
"""After each round so many angles get neighbours on both sides."""
NEIGHBOUR_DEG = 4.0
"""How far away neighbours are after the first round."""


@dataclass(frozen=True, eq=False)
class Found:
    """The outcome of a search.

    Parameters
    ----------
    centers : ndarray, shape (N, 3)
        Unit vectors.
    angles_deg : ndarray, shape (N,)
        The camera angle of each panel, as the task's orientations take it.
    bound : int
        No plan that the task allows has fewer panels.
    steps : int
        Moves made.
    """

    centers: Array
    angles_deg: Array
    bound: int
    steps: int = 0

    def __len__(self) -> int:
        return len(self.centers)

    def bases(self, task: Task) -> Array:
        """Tangent plane bases (left, up, out) of the panels, shape (N, 3, 3)."""
        bases = np.zeros((len(self), 3, 3))
        for angle in distinct(self.angles_deg).tolist():
            mine = self.angles_deg == angle
            bases[mine] = task.orientation_at(angle).bases(self.centers[mine])
        return bases

    @property
    def proven(self) -> bool:
        """Whether no plan has fewer panels."""
        return len(self) <= self.bound


def bounds_for(task: Task, floor: int, effort: Effort) -> BoundsBeside:
    """Begin with the bounds of a task.

    Parameters
    ----------
    task : Task
    floor : int
        A bound that is known already.
    effort : Effort
    """
    return BoundsBeside(partial(_bounds, task, floor, effort), task.angles, floor)


def search_fewest(
    task: Task,
    start: Found,
    *,
    effort: Effort = EFFORTS["usual"],
    hints_deg: tuple[float, ...] = (),
    bounds: BoundsBeside | None = None,
    finish: Callable[[Found], Found] | None = None,
    progress: Progress | None = None,
) -> Found:
    """Search for fewer panels than a plan that is known.

    Parameters
    ----------
    task : Task
    start : Found
        A plan that meets all demands; its bound is taken as known.
    effort : Effort
    hints_deg : tuple of float
        Angles worth a try whatever the bounds say of their neighbourhood, the best first.
    bounds : BoundsBeside, optional
        If they have been begun already; they are used up.
    finish : callable, optional
        What becomes of the best plan in the end, at an equal count; the last bounds are worked out beside it.
    progress : callable, optional
        Called with what is being done and the share of the effort that is spent; may raise `SearchStopped`.
    """
    finish = finish or (lambda found: found)
    if task.cores > effort.most_cores or len(start) < 2:
        return finish(start)
    with contextlib.closing(bounds or bounds_for(task, start.bound, effort)) as begun:
        search = _Search(task, start, effort, hints_deg, begun, progress or (lambda text, share: None))
        return search.run(finish)


class _Search:
    """One search: the best plan so far, bounds, attempts and what is spent."""

    def __init__(
        self,
        task: Task,
        start: Found,
        effort: Effort,
        hints_deg: tuple[float, ...],
        bounds: BoundsBeside,
        progress: Progress,
    ) -> None:
        self.task, self.best, self.effort, self.progress = task, start, effort, progress
        self.bounds, self.hints_deg = bounds, hints_deg
        self.angles: list[float] = []
        self.scale = max(1.0, task.cores / USUAL_CORES)
        self.share = min(1.0, MANY_CORES / task.cores)
        orientation = task.orientation_at(float(start.angles_deg[0]))
        self.is_flat = is_flat(task.region, orientation, task.demands)
        self.attempts: dict[float, Attempt] = {}
        self.origins: dict[float, float] = {}

    def _first_angles(self, middles_deg: Iterable[float]) -> list[float]:
        """Angles to be tried: hints, and middles of intervals, the most promising first."""
        angles = dict.fromkeys(a for a in (*self.hints_deg, *middles_deg) if self.task.angles.holds(a))
        most = self.effort.angles if self.is_flat else self.effort.angles / 2
        found = list(angles)[: max(1, round(most * self.share**2))]
        if self.is_flat or self.share == 1.0:
            return found
        return self.angles or [min(found[:EARLY], key=self._laid)]

    def _laid(self, angle_deg: float) -> int:
        """Count panels laid from the outline inwards at an angle."""
        return len(Attempt(self.task, [angle_deg]).front_crew(0, len(self.best)))

    @property
    def steps(self) -> int:
        return sum(attempt.steps for attempt in self.attempts.values())

    @property
    def angle_deg(self) -> float:
        """Of the best plan."""
        return float(self.best.angles_deg[0])

    @property
    def is_proven(self) -> bool:
        """Whether no plan has fewer panels than the best one known."""
        return len(self.best) <= self.bounds.least

    @property
    def done(self) -> bool:
        return self.is_proven or self.steps >= self.scale * self.effort.steps

    def run(self, finish: Callable[[Found], Found]) -> Found:
        stopped = True
        with contextlib.suppress(SearchStopped):
            self._search()
            stopped = False
        found = finish(Found(self.best.centers, self.best.angles_deg, self.best.bound, self.steps))
        if not stopped:
            with contextlib.suppress(SearchStopped):
                self._hear_last()
        return replace(found, bound=min(self.bounds.least, len(found)))

    def _search(self) -> None:
        """Make the rounds of moves; stages of the bounds that no moves depend on are not waited for."""
        self._order()
        rounds, early = self.effort.tries, self._first_angles(())[:EARLY]
        self.angles = early
        self._round(early, rounds[0])
        self._hear()
        self.angles = self._first_angles(middle for middle, _ in self.bounds.open.below(len(self.best)))
        most, later = len(self.angles), [angle for angle in self.angles if angle not in early]
        self._round(later, rounds[0])
        for number, tries in enumerate(rounds):
            if number:
                self._hear()
            if number and (self.is_flat or self.share == 1.0):
                self._round(self._ranked()[:most], tries)
            self._add_neighbours(number)
            most = max(min(2, most), most // DROP)
        if self.effort.programs:
            self._hear_last()
            self._settle()
            self._order_stage(len(rounds))

    def _hear_last(self) -> None:
        """Wait for all stages that are still ordered, unless enough is known."""
        while self.bounds.is_due and not self.is_proven:
            self._hear()

    def _round(self, angles: list[float], tries: int) -> None:
        """Try angles, as long as they are hopeful."""
        longer = self.scale / self.share ** (1 if self.is_flat else 2)
        for angle in angles:
            if self.done:
                break
            if self._is_hopeful(angle):
                self._try(angle, int(longer * tries))
            share = self.steps / (self.scale * self.effort.steps)
            self.progress(f"{len(self.best)} panels", min(1.0, share))

    def _order(self) -> None:
        """Order the stages of the bounds; there is one before each round and one after them."""
        for stage in range(len(self.effort.tries) + 1):
            self._order_stage(stage)

    def _order_stage(self, stage: int) -> None:
        self.bounds.refine(len(self.best), self.effort.relaxations_until(stage), self.angle_deg)

    def _hear(self) -> Chosen:
        """Wait for the next stage of the bounds unless enough is known, and tell how they stand."""
        if self.is_proven:
            return None
        stage = self.bounds.outcome()
        while True:
            try:
                spent = next(stage)
            except StopIteration as end:
                chosen: Chosen = end.value
                return chosen
            text = f"{len(self.best)} panels; no plan can have fewer than {self.bounds.least}"
            self.progress(text, min(1.0, spent / self.effort.relaxations))
            if self.is_proven:
                return None

    def _settle(self) -> None:
        """Let integer programs decide, about the angles that the bounds leave open."""
        for number in range(self.effort.programs):
            self.bounds.settle(len(self.best))
            hopeful = self._hear()
            if hopeful is None:
                return
            angle, places = hopeful
            if len(places):
                self._try_chosen(angle, places)
            self.progress("settling", (number + 1) / self.effort.programs)

    def _try_chosen(self, angle: float, centers: Array) -> None:
        """Try one panel less from the places that an integer program chose."""
        attempt = Attempt(self.task, [angle])
        count = len(self.best) - 1
        crew = attempt.extended(attempt.crew_at(centers, count), count)
        if attempt.run(crew, int(self.scale * self.effort.tries[1])):
            self.best = Found(attempt.centers, attempt.panel_angles_deg, self.best.bound)

    def _ranked(self) -> list[float]:
        """All angles, those that came nearest to one panel less first."""
        return sorted(self.angles, key=self._misses)

    def _misses(self, angle: float) -> float:
        attempt = self.attempts.get(angle)
        if attempt is None:
            return 0.5 * self._misses(self.origins[angle]) if angle in self.origins else UNTRIED
        return attempt.misses

    def _add_neighbours(self, number: int) -> None:
        """Angles beside the best ones, nearer from round to round."""
        off = NEIGHBOUR_DEG / 2**number
        for angle in self._ranked()[:NEIGHBOURS]:
            for near in (angle - off, angle + off):
                if near not in self.angles and self.task.angles.holds(near):
                    self.angles.append(near)
                    self.origins[near] = angle

    def _is_hopeful(self, angle: float) -> bool:
        """Whether the bounds allow one panel less at an angle."""
        return any(
            abs(self.task.angles.turn_deg(angle, middle)) <= half + 1e-9
            for middle, half in self.bounds.open.below(len(self.best))
        )

    def _try(self, angle: float, tries: int) -> None:
        """Try one panel less at an angle; after success, less again."""
        attempt = self.attempts.get(angle)
        if attempt is None:
            attempt = self.attempts[angle] = Attempt(self.task, [angle])
            crew = self._grown(attempt, self._first_crew(angle, attempt), tries)
        else:
            crew = attempt.thinned(attempt.crew, len(self.best) - 1)
        while len(crew) and attempt.run(crew, tries):
            self.best = Found(attempt.centers, attempt.panel_angles_deg, self.best.bound)
            if self.done:
                return
            crew = attempt.search.without_lightest(attempt.crew)

    def _first_crew(self, angle: float, attempt: Attempt) -> Crew:
        """Where to begin at an angle with one panel less than the best plan has, or fewer."""
        most = len(self.best) - 1
        flat = attempt.grounds[0].cost == 1
        fronts = self.effort.fronts if flat else min(CURVED_FRONTS, self.effort.fronts)
        crews = [attempt.front_crew(front, len(self.best)) for front in range(fronts)]
        fewest = min(crews, key=len)
        origin = self.attempts.get(self.origins.get(angle, angle))
        if len(fewest) > most and origin is not None and len(origin.crew) >= most:
            return attempt.crew_at(origin.centers, most)
        return attempt.thinned(fewest, most)

    def _grown(self, attempt: Attempt, crew: Crew, tries: int) -> Crew:
        """Panels and as many more as it takes, up to one less than the best plan has."""
        most = len(self.best) - 1
        while len(crew) < most:
            if attempt.run(crew, tries):
                return attempt.crew
            more = attempt.extended(attempt.crew, most)
            if len(more) == len(crew):
                break  # all points are served, yet there is a gap that more points do not show
            crew = more
        return crew


def bound_for(task: Task, plan: Found, effort: Effort) -> int:
    """Panels that every plan of a task has at least, by linear programs alone.

    Parameters
    ----------
    task : Task
    plan : Found
        The best one known; no bound above its count is sought.
    effort : Effort
    """
    bounds = _bounds(task, plan.bound, effort)
    for _ in bounds.refine(len(plan), effort.relaxations, float(plan.angles_deg[0])):
        pass
    return min(bounds.least, len(plan))


def _bounds(task: Task, floor: int, effort: Effort) -> AngleBounds:
    return AngleBounds(
        task,
        floor=floor,
        most=effort.relaxations,
        fine_parts=effort.fine_parts,
        closely=effort.closely,
    )

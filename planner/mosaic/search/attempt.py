"""An attempt to cover the region at given angles with a given number of panels."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.demand import Demand, with_hair
from planner.mosaic.orientation import Orientation
from planner.mosaic.proof.cover import Cover, Gap
from planner.mosaic.sample_points import region_points
from planner.mosaic.task import Task

from .first_panels import laid_from
from .gap_points import gap_points
from .moves import Crew, Pierce
from .served.ground import Ground
from .served.ground_for import ground_for

__all__ = ["Attempt"]

Array = NDArray[np.float64]
ROUNDS = 150
"""Proofs that one run may take to close its gaps."""
GAP_CELL = 0.5
"""Gaps are cut by a grid of this part of a panel's short half side."""
SEED = 2027


class Attempt:
    """Grounds and a search at one angle, or at a few at once.

    Parameters
    ----------
    task : Task
    angles_deg : sequence of float
        Panels may stand at any of these.
    demands : sequence of Demand, optional
        In place of the task's own.
    """

    def __init__(
        self, task: Task, angles_deg: Sequence[float], *, demands: Sequence[Demand] | None = None
    ) -> None:
        self.task, self.angles_deg = task, tuple(float(angle) for angle in angles_deg)
        self.demands = with_hair(demands or task.demands)
        orientations = [task.orientation_at(angle) for angle in self.angles_deg]
        self.grounds: list[Ground] = [
            ground_for(task.region, o, self.demands, task.open) for o in orientations
        ]
        points = self._first_points(orientations[0])
        for ground in self.grounds:
            ground.add(points)
        self.search = Pierce(self.grounds, seed=SEED)
        self.crew = Crew(np.zeros((0, 2)), np.zeros(0, dtype=np.intp))
        self.misses = np.inf
        self._cover: Cover | None = None

    def _first_points(self, orientation: Orientation) -> Array:
        """Points (N, 3) that stand for all that is to be served."""
        ground = self.task.open
        if ground is None:
            return region_points(self.task.region, orientation, self.demands)
        parts = [part for demand in self.demands if (part := ground.part(demand)) is not None]
        points = [region_points(part, orientation, self.demands) for part in parts]
        return np.concatenate([*points, *(ground.deepest(demand) for demand in self.demands)])

    @property
    def steps(self) -> int:
        """Moves made so far, in moves on flat ground."""
        return self.search.steps * max(ground.cost for ground in self.grounds)

    def front_crew(self, front: int, most: int) -> Crew:
        """Panels laid from a front inwards at the first angle, at most so many."""
        places = laid_from(self.grounds[0], front, most)
        return Crew(places, np.zeros(len(places), dtype=np.intp))

    def crew_at(self, vectors: Array, count: int) -> Crew:
        """Panels at these centres at the first angle, without the lightest if they are too many."""
        return self.thinned(Crew.at(vectors, self.grounds[0]), count)

    def crew_of(self, centers: Array, angles_deg: Array) -> Crew:
        """Panels at these centres; those at none of the attempt's angles stand at its first one."""
        turns = np.zeros(len(centers), dtype=np.intp)
        for turn, angle in enumerate(self.angles_deg):
            turns[np.asarray(angles_deg) == angle] = turn
        places = np.zeros((len(centers), 2))
        for turn, ground in enumerate(self.grounds):
            places[turns == turn] = ground.places(centers[turns == turn])
        return Crew(places, turns)

    def thinned(self, crew: Crew, count: int) -> Crew:
        """Panels without the lightest, so many that a count is left."""
        while len(crew) > count:
            crew = self.search.without_lightest(crew)
        return crew

    def extended(self, crew: Crew, count: int) -> Crew:
        """Panels and further ones, each where it serves most of what is unserved, so many that there are a count."""
        ground = self.grounds[0]
        while len(crew) < count:
            bare = self.search.unserved(crew)
            if not len(bare):
                return crew
            ones = np.ones(len(bare), dtype=np.int64)
            _, places = ground.best_places(int(bare[0]), bare, ones, -ones, 1)
            crew = Crew(np.append(crew.places, places, axis=0), np.append(crew.turns, 0))
        return crew

    @property
    def centers(self) -> Array:
        """Centres of the panels, unit vectors (N, 3)."""
        return self.crew.vectors(self.grounds)

    @property
    def panel_angles_deg(self) -> Array:
        """Camera angle of each panel, shape (N,)."""
        return np.array(self.angles_deg)[self.crew.turns]

    def run(self, crew: Crew, steps: int) -> bool:
        """Move panels until the proof finds no gap, or for so many steps; `crew` and `misses` keep the outcome.

        Misses count points that stay unserved; runs that had come further count as less.
        """
        last = self.steps + steps
        for round_number in range(ROUNDS):
            crew, left = self.search.run(crew, max(1, (last - self.steps) // self.grounds[0].cost))
            if left:
                self._note(crew, left / (1 + round_number))
                return False
            gap = self.gap(crew)
            if not gap:
                self._note(crew, 0.0)
                return True
            points = gap_points(gap, GAP_CELL * self.grounds[0].size)
            for turn, ground in enumerate(self.grounds):
                ground.add(points, against=crew.places[crew.turns == turn])
            if self.steps >= last:
                break
        self._note(crew, 1.0 / (1 + ROUNDS))
        return False

    def gap(self, crew: Crew) -> Gap:
        """What panels leave unserved, of the first demand that they do not meet."""
        bases = crew.bases(self.grounds)
        cover = self._cover = self._cover.moved(bases) if self._cover else Cover(self.task.region, bases)
        for demand in self.demands:
            gap = cover.gap(demand, within=self.task.open and self.task.open.shapes[demand])
            if gap:
                break
        return gap

    def _note(self, crew: Crew, misses: float) -> None:
        if len(crew) != len(self.crew) or misses <= self.misses:
            self.crew, self.misses = crew, misses

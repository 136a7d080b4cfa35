"""Local search: move panels, one at a time, until every point is served.

A step takes a point that no panel serves, finds for each panel the best place among those that serve the point,
and makes the move that leaves the least weight unserved. A panel that moved rests for a few steps, and whatever
stays unserved gains weight, so the search leaves the arrangements in which it gets stuck.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .served.ground import Ground

__all__ = ["Crew", "Pierce"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Crew:
    """Panels of a search.

    Parameters
    ----------
    places : ndarray, shape (N, 2)
        In the terms of each panel's ground.
    turns : ndarray of int, shape (N,)
        Which ground, and so which orientation, each panel belongs to.
    """

    places: Array
    turns: Indices

    def __len__(self) -> int:
        return len(self.turns)

    @classmethod
    def at(cls, vectors: Array, ground: Ground) -> Crew:
        """Return panels with these centres, unit vectors (N, 3), all of one orientation."""
        return cls(ground.places(vectors), np.zeros(len(vectors), dtype=np.intp))

    def without(self, index: int) -> Crew:
        """Return all panels but one."""
        kept = np.arange(len(self)) != index
        return Crew(self.places[kept], self.turns[kept])

    def vectors(self, grounds: Sequence[Ground]) -> Array:
        """Unit vectors (N, 3) of the panels' centres."""
        found = np.zeros((len(self), 3))
        for turn, ground in enumerate(grounds):
            found[self.turns == turn] = ground.vectors(self.places[self.turns == turn])
        return found

    def bases(self, grounds: Sequence[Ground]) -> Array:
        """Panel bases (N, 3, 3)."""
        found = np.zeros((len(self), 3, 3))
        for turn, ground in enumerate(grounds):
            found[self.turns == turn] = ground.bases(self.places[self.turns == turn])
        return found


@dataclass(frozen=True)
class _Move:
    """A panel's best new place: what it would cost in weight, and the points that decided."""

    cost: int
    panel: int
    turn: int
    place: Array
    points: Indices


class Pierce:
    """The search over some grounds; it keeps its weights from run to run.

    Parameters
    ----------
    grounds : sequence of Ground
        The same points at every orientation that panels may have.
    seed : int
    """

    def __init__(self, grounds: Sequence[Ground], *, seed: int = 0) -> None:
        self.grounds = tuple(grounds)
        self._random = random.Random(seed)
        self.weights = np.ones(0, dtype=np.int64)
        self.steps = 0

    def run(self, crew: Crew, steps: int) -> tuple[Crew, int]:
        """Move panels until every point is served, or for so many steps.

        Returns
        -------
        Crew
            The panels where they left the fewest points unserved.
        int
            How many points those are: 0 is success.
        """
        self._weigh_new_points()
        state = _State(self, crew)
        best, least = crew, int(np.count_nonzero(state.bare))
        for step in range(1, steps + 1 if len(crew) else 1):
            if not least:
                break
            bare = state.bare.nonzero()[0]
            state.step(int(bare[self.below(len(bare))]), step)
            self.steps += 1
            self.weights += state.bare
            found = int(np.count_nonzero(state.bare))
            if found < least:
                best, least = state.crew, found
        return best, least

    def unserved(self, crew: Crew) -> Indices:
        """Return the points that no panel serves."""
        self._weigh_new_points()
        return np.flatnonzero(_State(self, crew).bare)

    def without_lightest(self, crew: Crew) -> Crew:
        """Return the panels without the one whose going leaves the least weight unserved."""
        self._weigh_new_points()
        return crew.without(int(np.argmin(_State(self, crew).losses())))

    def below(self, most: int) -> int:
        """Return a whole number by chance, at least 0 and below another; the same row of them anywhere."""
        return int(self._random.random() * most)

    def _weigh_new_points(self) -> None:
        new = len(self.grounds[0]) - len(self.weights)
        usual = round(float(self.weights.mean())) if len(self.weights) else 1
        self.weights = np.concatenate([self.weights, np.full(new, usual, dtype=np.int64)])


class _State:
    """Where the panels of a run stand and what they serve."""

    def __init__(self, search: Pierce, crew: Crew) -> None:
        self.search, self.grounds = search, search.grounds
        self.places, self.turns = crew.places.copy(), crew.turns.copy()
        self.rows = np.zeros((len(crew), len(self.grounds[0])), dtype=bool)
        for turn, ground in enumerate(self.grounds):
            mine = self.turns == turn
            self.rows[mine] = ground.served(self.places[mine])
        numbers = np.arange(1, len(crew) + 1)
        self.count = self.rows.sum(axis=0)
        self.numbers = np.einsum("n,np->p", numbers, self.rows)  # of the panels that serve a point, in all
        self.rests_until = np.zeros(len(crew), dtype=int)
        self._sort()

    @property
    def crew(self) -> Crew:
        return Crew(self.places.copy(), self.turns.copy())

    def _sort(self) -> None:
        """Tell points apart: 0 for those that nobody serves, a panel's number from 1 on if it alone does, or more."""
        self.owners = np.where(self.count > 1, len(self.turns) + 1, self.numbers)
        self.bare = self.owners == 0

    def losses(self) -> Array:
        """Weight that each panel alone serves, shape (N,)."""
        alone = np.bincount(self.owners, self.search.weights, len(self.turns) + 2)[1:-1]
        return np.asarray(alone, dtype=float)

    def step(self, point: int, step: int) -> None:
        """Make the best move that serves a point."""
        free = self.rests_until < step
        if not free.any():
            free[:] = True
        losses = self.losses()
        moves = (self._best_move(point, turn, losses, free) for turn in range(len(self.grounds)))
        best = min(moves, key=lambda move: move.cost)
        self._make(best)
        rest = self.search.below(1 + min(4, len(self.turns) // 3))
        self.rests_until[best.panel] = step + 1 + rest

    def _best_move(self, point: int, turn: int, losses: Array, free: NDArray[np.bool_]) -> _Move:
        """Best move, to a place of one orientation that serves a point, of all panels worth moving.

        These are the panels that alone serve points near by, and of the others the one that loses least.
        """
        near = self.grounds[turn].near(point)
        owners = self.owners[near]
        alone = np.bincount(owners, minlength=len(free) + 2)[1:-1] > 0
        panels = (alone & free).nonzero()[0]
        far = free & ~alone
        if far.any():
            lightest = np.where(far, losses, np.inf).argmin()
            panels = np.concatenate([panels, [lightest]])
        group = np.full(len(free) + 2, -2)
        group[0], group[panels + 1] = -1, np.arange(len(panels))
        groups = group[owners]
        counts = groups > -2
        others, groups = near[counts], groups[counts]
        weights = self.search.weights[others]
        gains, places = self.grounds[turn].best_places(point, others, weights, groups, len(panels))
        costs = losses[panels] - gains
        k = int(costs.argmin())
        return _Move(int(costs[k]), int(panels[k]), turn, places[k], others[(groups == k) | (groups < 0)])

    def _make(self, move: _Move) -> None:
        ground = self.grounds[move.turn]
        place = ground.settled(move.place, move.points)
        row = ground.served(place[None])[0]
        change = row.astype(np.int64) - self.rows[move.panel]
        self.count += change
        self.numbers += (move.panel + 1) * change
        self.rows[move.panel], self.places[move.panel], self.turns[move.panel] = row, place, move.turn
        self._sort()

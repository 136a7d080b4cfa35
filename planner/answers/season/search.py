"""The search for a season's angles: guesses by rows decide what to plan, plans correct the guesses.

The best choice over all guesses is found exactly; what it rests on is planned; the choice is made again, until no
other promises fewer panels or the effort is spent. Then the choice among what has been planned counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.progress import Effort, Progress, silent

from .best_angles import best_angles
from .table import SeasonTable, at_angle

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["search_season"]

Columns = NDArray[np.int64]


@dataclass(frozen=True)
class _Budget:
    """Plans that may be made, for each target.

    Parameters
    ----------
    likely : int
        Where guesses promise fewer panels than the best choice so far.
    hopeful : int
        Where a panel less than guessed would make fewer.
    ties : int
        Where guesses promise as few panels, for more margin.
    own : int
        For the target on its own, where it is promised fewer than it has.
    """

    likely: int
    hopeful: int
    ties: int
    own: int


BUDGETS = {"quick": _Budget(2, 0, 0, 1), "usual": _Budget(3, 0, 0, 2), "thorough": _Budget(40, 20, 20, 10)}
IN_ROWS = {
    "quick": _Budget(10, 5, 0, 2),
    "usual": _Budget(15, 10, 5, 2),
    "thorough": _Budget(200, 100, 100, 10),
}
"""Where no target has free panels, a plan takes a fraction of the time."""


def search_season(
    table: SeasonTable, most: int, *, effort: Effort, progress: Progress | None = None
) -> Columns:
    """Choose at most so many angles and one for each target, and plan every target at its own.

    Parameters
    ----------
    table : SeasonTable
        Gets the plans.
    most : int
        Angles that may be used.
    effort : {'quick', 'usual', 'thorough'}
        Counted in plans and in their steps: the same season gives the same answer on any machine.
    progress : callable, optional

    Returns
    -------
    ndarray of int, shape (N,)
        Each target's angle; ``table.plans`` holds the plan.

    Raises
    ------
    InputError
        If plan files allow no common angle and too few turns are allowed.
    """
    _check_common(table, most)
    return _Search(table, most, effort, progress or silent).run()


def _check_common(table: SeasonTable, most: int) -> None:
    if best_angles(np.where(table.allowed, 1.0, np.inf), most) is None:
        narrow = [r.title for r, row in zip(table.requests, table.allowed, strict=True) if not row.all()]
        raise InputError(
            f"turns_allowed = {most - 1} is too few: the angles that {', '.join(map(repr, narrow))} ask for "
            "have none in common; allow more turns, take position_angle_deg out of a plan file, or let the "
            "panels of one that keeps them go (plan FILE --unsettle)"
        )


class _Search:
    """One search: the table, what may still be spent and what has been planned with full effort."""

    def __init__(self, table: SeasonTable, most: int, effort: Effort, progress: Progress) -> None:
        self.table, self.most, self.effort, self.progress = table, most, effort, progress
        self.targets = range(len(table.requests))
        searches = any(request.mosaic.is_free for request in table.requests)
        self.budget = (BUDGETS if searches else IN_ROWS)[effort]
        self.expected = 3 * len(self.targets) * (1 if effort == "quick" else 2)
        self.made = 0
        self.full: set[tuple[int, int]] = set()

    def run(self) -> Columns:
        self._search_freely()
        self._plan_all(self._choice(self.table.guessed_costs()))
        self._improve(self.budget.likely)
        for target in self.targets:
            self._plan_own_best(target)
        self._improve(self.budget.hopeful, spare=1.0)
        self._improve(self.budget.ties, gain=0)
        while self._plan_all(self._choice(self.table.known_costs())):
            pass
        return self._choice(self.table.known_costs())

    def _choice(self, costs: NDArray[np.float64]) -> Columns:
        """Return the choice with the fewest panels, and of those with the fewest angles: turns cost visits."""
        columns = best_angles(costs, self.most)
        assert columns is not None, "the first choice has been planned whole"
        for most in range(1, len(set(columns.tolist()))):
            fewer = best_angles(costs, most)
            if fewer is not None and _panels(costs, fewer) <= _panels(costs, columns):
                return fewer
        return columns

    def _improve(self, plans: int, *, spare: float = 0.0, gain: int = 1) -> None:
        """Plan what a choice rests on that promises so many panels fewer than the best so far, again and again.

        Where guesses are lowered or no gain is needed, what has not been planned may have any margin.
        """
        until = self.made + plans * len(self.targets)
        while self.made < until:
            known = self.table.known_costs()
            guess = self.table.guessed_costs(spare=spare, any_margin=spare > 0 or gain == 0)
            columns = self._choice(guess)
            rest = [place for place in enumerate(columns.tolist()) if place not in self.table.plans]
            if not rest or _panels(guess, columns) > _panels(known, self._choice(known)) - gain:
                return
            doubt = self.table.rows - guess
            self._plan(*max(rest, key=lambda place: doubt[place]))

    def _plan_all(self, columns: Columns) -> bool:
        """Plan every target at its column, with full effort; returns whether there was anything to do."""
        rest = [place for place in enumerate(columns.tolist()) if place not in self.full]
        for place in rest:
            self._plan(*place, full=True)
        return bool(rest)

    def _plan(self, target: int, angle: int, *, full: bool = False) -> None:
        """Plan a target at an angle: quickly to compare; with more effort what is chosen or needs more than rows."""
        request = at_angle(self.table.requests[target], self.table.angles.angles_deg[angle])
        effort: Effort = self.effort if full and request.mosaic.is_free else "quick"
        self.table.add(target, angle, self._made(request, effort))
        if request.mosaic.is_free and effort == "quick" and self.table.disappoints(target, angle):
            self.table.add(target, angle, self._made(request, "usual"))
        if full or self.effort == "quick" or not request.mosaic.is_free:
            self.full.add((target, angle))

    def _made(self, request: Request, effort: Effort) -> Plan:
        from planner.answers.plan import make_plan

        self.progress(f"planning {request.title}", min(0.99, self.made / self.expected))
        self.made += 1
        return make_plan(request, effort=effort)

    def _plan_own_best(self, target: int) -> None:
        """Plan a target on its own, where a search over all angles led or rows promise fewer panels than it has."""
        for _ in range(self.budget.own):
            guess = self.table.guessed_costs()[target]
            best = self.table.best_angle(target)
            assert best is not None
            angle = int(guess.argmin())
            if int(guess[angle]) >= len(self.table.plans[target, best].mosaic.panels):
                return
            self._plan(target, angle, full=True)

    def _search_freely(self) -> None:
        """Search over all angles for the fewest panels of each target that may choose."""
        for target in self.targets:
            if self.table.requests[target].mosaic.is_free and self.table.allowed[target].sum() > 1:
                self.table.add_free(target, self._made(self._without_pin(target), self.effort))

    def _without_pin(self, target: int) -> Request:
        """Return the request free to take any angle that it allows and that lies between settable ones."""
        request, angles = self.table.requests[target], self.table.angles
        if request.mosaic.position_angle_range_deg is not None:
            return request
        reach = (0.0, angles.period_deg)
        if not angles.is_whole_turn and len(angles) > 1:
            reach = _widest_run(angles.array_deg, angles.period_deg)
        return replace(request, mosaic=replace(request.mosaic, position_angle_range_deg=reach))


def _panels(costs: NDArray[np.float64], columns: Columns) -> int:
    """Whole panels of a choice; what its margins cost is less than one."""
    return int(costs[np.arange(len(costs)), columns].sum())


def _widest_run(angles: NDArray[np.float64], period_deg: float) -> tuple[float, float]:
    """Ends of the shortest span, modulo the period, that holds all angles."""
    following = np.append(angles[1:], angles[0] + period_deg)
    gap = int((following - angles).argmax())
    return float(following[gap] % period_deg), float(angles[gap])

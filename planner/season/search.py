"""The search for a season's angles: guesses by rows decide what to plan, plans correct the guesses.

The best choice over all guesses is found exactly; what it rests on is planned; the choice is made again, until it
rests on plans alone or the effort is spent. Then the choice among what has been planned counts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError

from .best_angles import best_angles
from .table import SeasonTable, at_angle

if TYPE_CHECKING:
    from planner.plan import Plan
    from planner.request import Request

__all__ = ["search_season"]

Effort = Literal["quick", "usual", "thorough"]
Progress = Callable[[str, float], None]
Columns = NDArray[np.int64]


@dataclass(frozen=True)
class _Budget:
    """Plans that may be made, for each target: where guesses lead, and where they might have been too high."""

    likely: int
    hopeful: int


OWN_PLANS = 2
"""Of each target on its own, where rows promise fewer panels than it has so far."""
BUDGETS = {"quick": _Budget(2, 1), "usual": _Budget(3, 2), "thorough": _Budget(40, 40)}
IN_ROWS = 5
"""Where no target has free panels, plans take a fraction of the time, and so many times as many are made."""


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
    return _Search(table, most, effort, progress or (lambda text, share: None)).run()


def _check_common(table: SeasonTable, most: int) -> None:
    if best_angles(np.where(table.allowed, 1.0, np.inf), most) is None:
        narrow = [r.title for r, row in zip(table.requests, table.allowed, strict=True) if not row.all()]
        raise InputError(
            f"turns_allowed = {most - 1} is too few: the angles that {', '.join(map(repr, narrow))} ask for "
            "have none in common; allow more turns, or free the angle in a plan file"
        )


class _Search:
    """One search: the table, what may still be spent and what has been planned with full effort."""

    def __init__(self, table: SeasonTable, most: int, effort: Effort, progress: Progress) -> None:
        self.table, self.most, self.effort, self.progress = table, most, effort, progress
        searches = any(_is_free(request) for request in table.requests)
        self.share = len(table.requests) * (1 if searches else IN_ROWS)
        self.budget = BUDGETS[effort]
        self.expected = self.share * (self.budget.likely + self.budget.hopeful) + 2 * len(table.requests)
        self.deeper: Effort = "usual" if effort == "quick" else effort
        self.made = 0
        self.full: set[tuple[int, int]] = set()

    def run(self) -> Columns:
        for target in range(len(self.table.requests)):
            self._plan_own_best(target)
        self._settle(self.share * self.budget.likely, hopeful=False)
        self._settle(self.share * self.budget.hopeful, hopeful=True)
        while True:
            columns = self._choice(self.table.known_costs())
            rest = [place for place in enumerate(columns.tolist()) if place not in self.full]
            if not rest:
                return columns
            for place in rest:
                self._plan(*place, full=True)

    def _choice(self, costs: NDArray[np.float64]) -> Columns:
        """Return the choice with the fewest panels, and of those with the fewest angles: turns cost visits."""
        columns = best_angles(costs, self.most)
        assert columns is not None, "the first choice has been planned whole"
        for most in range(1, len(set(columns.tolist()))):
            fewer = best_angles(costs, most)
            if fewer is not None and _panels(costs, fewer) <= _panels(costs, columns):
                return fewer
        return columns

    def _settle(self, plans: int, *, hopeful: bool) -> None:
        """Plan what the best choice over guesses rests on, again and again."""
        until = self.made + plans
        while self.made < until:
            columns = self._choice(self.table.guessed_costs(hopeful=hopeful))
            rest = [place for place in enumerate(columns.tolist()) if place not in self.table.plans]
            if not rest:
                return
            for place in rest[:1] if hopeful else rest:
                self._plan(*place, full=hopeful)

    def _plan(self, target: int, angle: int, *, full: bool = False) -> Plan:
        """Plan a target at an angle: quickly to compare; with more effort what is chosen or disappoints."""
        request = at_angle(self.table.requests[target], self.table.angles.angles_deg[angle])
        if not _is_free(request):
            self.table.add(target, angle, self._made(request, "quick"))
            self.full.add((target, angle))
            return self.table.plans[target, angle]
        guess = self.table.guessed_counts()[target, angle]
        plan = self._made(request, self.effort if full else "quick")
        self.table.add(target, angle, plan)
        if len(plan.mosaic.panels) > guess + 0.5 and (self.effort == "quick" or not full):
            full = True
            self.table.add(target, angle, self._made(request, self.deeper))
        if full or self.effort == "quick":
            self.full.add((target, angle))
        return self.table.plans[target, angle]

    def _made(self, request: Request, effort: Effort) -> Plan:
        from planner.plan import make_plan

        self.progress(f"planning {request.title}", min(0.99, self.made / self.expected))
        self.made += 1
        return make_plan(request, effort=effort)

    def _plan_own_best(self, target: int) -> None:
        """Plan a target where a search over all angles leads, and where rows promise still fewer panels."""
        if _is_free(self.table.requests[target]) and self.table.allowed[target].sum() > 1:
            self._plan_freely(target)
        for _ in range(OWN_PLANS):
            guess = self.table.guessed_costs()[target]
            place = target, int(guess.argmin())
            if place in self.table.plans:
                return
            self._plan(*place, full=True)

    def _plan_freely(self, target: int) -> None:
        """Search over all angles that a target allows, and plan it at the next ones that can be set."""
        free = self._made(self._without_pin(target), self.effort)
        apart = self.table.angles.apart_deg(free.mosaic.panels[0].position_angle_deg)
        apart = np.where(self.table.allowed[target], apart, np.inf)
        self.table.fewest[target] = len(free.mosaic.panels)
        self.table.bounds[target] = free.mosaic.panel_count_bound
        for nearest in np.argsort(apart, kind="stable")[:2].tolist():
            plan = self._plan(target, nearest, full=True)
            if len(plan.mosaic.panels) <= len(free.mosaic.panels):
                return

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


def _is_free(request: Request) -> bool:
    """Whether panels may stand anywhere, so that a search has something to find."""
    return request.mosaic.layout == "free" and request.mosaic.columns is None


def _widest_run(angles: NDArray[np.float64], period_deg: float) -> tuple[float, float]:
    """Ends of the shortest span, modulo the period, that holds all angles."""
    following = np.append(angles[1:], angles[0] + period_deg)
    gap = int((following - angles).argmax())
    return float(following[gap] % period_deg), float(angles[gap])

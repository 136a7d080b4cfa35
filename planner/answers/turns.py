"""Panels against turns of the camera: what each further camera angle within one mosaic saves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planner.errors import InputError
from planner.progress import Effort, Progress
from planner.request.request import Request

from .plan import Plan, make_plan

__all__ = ["TURNS", "TurnsRow", "compare_turns"]

Turns = Literal["common", "per_panel"] | int

TURNS: tuple[Turns, ...] = ("common", 2, 3, 4, "per_panel")
"""What is compared, the fewest angles first."""
ANGLE_DECIMALS = 2
"""Angles that agree to so many decimals of a degree count as one."""


@dataclass(frozen=True)
class TurnsRow:
    """The plan with the fewest panels found when the camera may be turned so often.

    Parameters
    ----------
    turns : 'common', 'per_panel' or int
    panels : int
    angles : int
        Camera angles that the plan uses, modulo half a turn; at most as many as `turns` allows.
    overlap_found : float
        Fraction of a side, a proven lower bound.
    panel_count_bound : int
        No plan with these turns, or with those of the rows before, has fewer panels.
    taken_from : 'common', int or None
        The row whose plan this is, where more turns found none as good; None: a plan of its own.
    shortfalls : tuple of str
        What the plan does not give although it was asked for.
    """

    turns: Turns
    panels: int
    angles: int
    overlap_found: float
    panel_count_bound: int
    taken_from: Turns | None = None
    shortfalls: tuple[str, ...] = ()


def compare_turns(
    request: Request, *, effort: Effort = "quick", progress: Progress | None = None
) -> tuple[TurnsRow, ...]:
    """Plan a request with one camera angle, with 2, 3 and 4, and with each panel turned.

    A plan with fewer angles is allowed where more are, so rows never need more panels than those before. A
    pinned camera angle is let go; a range of angles holds.

    Parameters
    ----------
    request : Request
    effort : {'quick', 'usual', 'thorough'}
        Of each plan.
    progress : callable, optional

    Raises
    ------
    InputError
        If the panels or the grid are given, or the region cannot be found or planned.
    """
    _check_can_vary(request)
    rows: list[TurnsRow] = []
    told = _whole(progress)
    for turns in TURNS:
        asked = replace(request.mosaic, turns=turns, position_angle_deg=None)
        plan = make_plan(replace(request, mosaic=asked), effort=effort, progress=told(turns))
        row = _row(turns, plan)
        rows.append(_better(row, rows) if rows else row)
    return tuple(rows)


def _check_can_vary(request: Request) -> None:
    if request.panels:
        raise InputError(
            "turns can be compared where panels are planned, got listed [[panels]]; leave them out"
        )
    if request.mosaic.columns is not None:
        raise InputError(
            "turns can be compared where the number of panels may vary, got mosaic.columns and rows; "
            "leave them out"
        )


def _row(turns: Turns, plan: Plan) -> TurnsRow:
    mosaic = plan.mosaic
    angles = {round(panel.position_angle_deg % 180.0, ANGLE_DECIMALS) % 180.0 for panel in mosaic.panels}
    return TurnsRow(
        turns,
        len(mosaic.panels),
        len(angles),
        mosaic.overlap_found,
        mosaic.panel_count_bound,
        shortfalls=plan.shortfalls,
    )


def _better(row: TurnsRow, before: Sequence[TurnsRow]) -> TurnsRow:
    """Return a row with the best plan of it and the rows before, and the bound for all of them."""
    bound = min(row.panel_count_bound, *(one.panel_count_bound for one in before))
    best = min((row, *before), key=lambda one: (bool(one.shortfalls), one.panels))
    if best is row:
        return replace(row, panel_count_bound=bound)
    return replace(best, turns=row.turns, panel_count_bound=bound, taken_from=best.turns)


def _whole(progress: Progress | None) -> Callable[[Turns], Progress | None]:
    """Progress of each plan as a part of the whole; a search that begins anew does not set it back."""
    reached = 0.0

    def of(turns: Turns) -> Progress | None:
        def tell(what: str, share: float) -> None:
            nonlocal reached
            reached = max(reached, (TURNS.index(turns) + share) / len(TURNS))
            if progress is not None:
                progress(f"turns = {turns}: {what}", reached)

        return tell if progress is not None else None

    return of

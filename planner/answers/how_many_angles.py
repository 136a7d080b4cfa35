"""Panels against the number of camera angles: what each further angle within one mosaic saves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planner.errors import InputError
from planner.progress import Effort, Progress
from planner.request.request import Request

from .plan import Plan, make_plan

__all__ = ["ANGLES", "AnglesRow", "how_many_angles"]

Angles = int | Literal["per_panel"]

ANGLES: tuple[Angles, ...] = (1, 2, 3, 4, "per_panel")
"""What is compared, the fewest angles first."""
ANGLE_DECIMALS = 2
"""Angles that agree to so many decimals of a degree count as one."""


@dataclass(frozen=True)
class AnglesRow:
    """The plan with the fewest panels found with so many camera angles allowed.

    Parameters
    ----------
    angles : int or 'per_panel'
        What was asked.
    panels : int
    angles_used : int
        Camera angles that the plan uses, modulo half a turn; at most as many as `angles` allows.
    overlap_found : float
        Fraction of a side, a proven lower bound.
    panel_count_bound : int
        No plan with so many angles, or with those of the rows before, has fewer panels.
    taken_from : int or None
        The row whose plan this is, where more angles found none as good; None: a plan of its own.
    shortfalls : tuple of str
        What the plan does not give although it was asked for.
    """

    angles: Angles
    panels: int
    angles_used: int
    overlap_found: float
    panel_count_bound: int
    taken_from: Angles | None = None
    shortfalls: tuple[str, ...] = ()


def how_many_angles(
    request: Request, *, effort: Effort = "quick", progress: Progress | None = None
) -> tuple[AnglesRow, ...]:
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
    request = request.unsettled
    _check_can_vary(request)
    rows: list[AnglesRow] = []
    told = _whole(progress)
    for angles in ANGLES:
        asked = replace(request.mosaic, angles=angles, position_angle_deg=None)
        plan = make_plan(replace(request, mosaic=asked), effort=effort, progress=told(angles))
        row = _row(angles, plan)
        rows.append(_better(row, rows) if rows else row)
    return tuple(rows)


def _check_can_vary(request: Request) -> None:
    if request.panels:
        raise InputError(
            "numbers of angles can be compared where panels are planned, got listed [[panels]]; leave them out"
        )
    if request.mosaic.columns is not None:
        raise InputError(
            "numbers of angles can be compared where the number of panels may vary, got mosaic.columns and rows; "
            "leave them out"
        )


def _row(angles: Angles, plan: Plan) -> AnglesRow:
    mosaic = plan.mosaic
    used = {round(panel.position_angle_deg % 180.0, ANGLE_DECIMALS) % 180.0 for panel in mosaic.panels}
    return AnglesRow(
        angles,
        len(mosaic.panels),
        len(used),
        mosaic.overlap_found,
        mosaic.panel_count_bound,
        shortfalls=plan.shortfalls,
    )


def _better(row: AnglesRow, before: Sequence[AnglesRow]) -> AnglesRow:
    """Return a row with the best plan of it and the rows before, and the bound for all of them."""
    bound = min(row.panel_count_bound, *(one.panel_count_bound for one in before))
    best = min((row, *before), key=lambda one: (bool(one.shortfalls), one.panels))
    if best is row:
        return replace(row, panel_count_bound=bound)
    return replace(best, angles=row.angles, panel_count_bound=bound, taken_from=best.angles)


def _whole(progress: Progress | None) -> Callable[[Angles], Progress | None]:
    """Progress of each plan as a part of the whole; a search that begins anew does not set it back."""
    reached = 0.0

    def of(angles: Angles) -> Progress | None:
        def tell(what: str, share: float) -> None:
            nonlocal reached
            reached = max(reached, (ANGLES.index(angles) + share) / len(ANGLES))
            if progress is not None:
                progress(f"angles = {angles}: {what}", reached)

        return tell if progress is not None else None

    return of

"""`plan --from-table`: prove the pointings of a table, whoever made it, instead of planning."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from .plan_answer import planned, show_plan, verdict, write_plan
from .plan_extras import Output

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["run_from_table"]


def run_from_table(request: Request, table: Path, output: Output) -> int:
    """Prove the pointings of a table against the request's region, and answer as `plan` does.

    Exit code 1 means that the panels leave a gap or less overlap than was asked.
    """
    from planner.files.pointings.read import request_from_table

    plan = planned(request_from_table(table, request), output)
    write_plan(plan, output)
    show_plan(plan, output)
    return verdict(plan.shortfalls)

"""`handover` of a mosaic that several instruments share."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import progress_shown, say
from planner.cli.plan_answer import say_changed
from planner.exit_codes import DONE, FALLS_SHORT

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.handover.index import HandoverFile
    from planner.night.timetable import Goal
    from planner.progress import Effort

__all__ = ["shared_handover", "shared_handover_verdict"]


def shared_handover(
    file: Path, effort: Effort, only: Sequence[str], planned_on: dt.date | None, goal: Goal
) -> tuple[SharedPlan, list[HandoverFile]]:
    """Make the plans and all files in memory; nothing is written before everything is there."""
    from planner.answers.shared.shared_plan import make_shared_plan
    from planner.files.plan_file.shared import read_shared_file
    from planner.handover.shared import check_shared_kinds, shared_handover_files

    request = read_shared_file(file)
    check_shared_kinds(request, only)
    with progress_shown() as progress:
        shared = make_shared_plan(request, effort=effort, progress=progress)
        files = shared_handover_files(shared, only=only, planned_on=planned_on, goal=goal, progress=progress)
    return shared, files


def shared_handover_verdict(shared: SharedPlan, only: Sequence[str]) -> int:
    """Say what to mind and where the plans fall short, and return the exit code."""
    from planner.handover.handover import handover_warnings
    from planner.handover.shared import kinds_for

    for one in shared.instruments:
        kinds = kinds_for(one.plan.request, only)
        for warning in handover_warnings(one.plan, only=kinds) if kinds is not None else ():
            say(f"warning: {one.name}: {warning}")
    say_changed(*shared.wholes)
    for shortfall in shared.shortfalls:
        say(shortfall)
    return FALLS_SHORT if shared.shortfalls else DONE

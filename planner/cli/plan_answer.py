"""What `plan` does with a plan once it is made: write its files, show it, tell where it falls short."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

from planner.errors import SearchStopped
from planner.exit_codes import DONE, FALLS_SHORT

from ._show import print_json, progress_shown, say
from .plan_extras import Output

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.progress import Effort, Progress
    from planner.request.request import Request

__all__ = [
    "plan_files",
    "planned",
    "run_from_table",
    "say_changed",
    "say_unsettled",
    "show_plan",
    "verdict",
    "write_plan",
]


def planned(request: Request, output: Output, *, whole: bool = False) -> Plan:
    """Make the plan, with progress on standard error; Ctrl-C ends the search, or all if it must be whole."""
    from planner.answers.plan import make_plan

    with progress_shown() as progress, nullcontext(progress) if whole else _stoppable(progress) as told:
        return make_plan(request, effort=output.effort, progress=told)


@contextmanager
def _stoppable(progress: Progress) -> Iterator[Progress]:
    """Let Ctrl-C stop what is told of its progress, at its next word; a second Ctrl-C ends the program."""
    if threading.current_thread() is not threading.main_thread():  # only that one gets signals
        yield progress
        return
    stopped: list[int] = []

    def stop(number: int, frame: FrameType | None) -> None:
        if stopped:
            raise KeyboardInterrupt
        stopped.append(number)

    def told(what: str, share: float) -> None:
        progress(what, share)
        if stopped:
            raise SearchStopped

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield told
    finally:
        signal.signal(signal.SIGINT, before)
    if stopped:
        say("stopped: this is the best plan that was found so far")


def write_plan(plan: Plan, output: Output) -> None:
    """Write plan.json, panels.csv, panels.ecsv and chart.png where a folder is given, and what is asked beside."""
    output.write({} if output.folder is None else plan_files(plan, output))


def plan_files(plan: Plan, output: Output) -> dict[str, bytes]:
    """Every file of a plan, by name: plan.json, panels.csv, panels.ecsv and, where it is wanted, chart.png."""
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.plan import plan_document
    from planner.files.exchange.panel_tables import panels_csv_bytes, panels_ecsv_bytes

    contents = {
        "plan.json": json_bytes(plan_document(plan)),
        "panels.csv": panels_csv_bytes(plan),
        "panels.ecsv": panels_ecsv_bytes(plan),
    }
    if output.chart:
        from planner.draw.map.chart import chart_png

        contents["chart.png"] = chart_png(plan, dark=output.dark)
    return contents


def show_plan(plan: Plan, output: Output) -> None:
    """Print the plan, or its machine form."""
    if output.as_json:
        from planner.files.documents.plan import plan_document

        print_json(plan_document(plan))
    else:
        from .plan_report import print_plan

        print_plan(plan)


def say_changed(*plans: Plan) -> int:
    """Say what has changed since panels were settled; returns the exit code: whether they fall short of it."""
    from planner.answers.settle import changed_words

    code = DONE
    for plan in plans:
        words = changed_words(plan)
        if words:
            say(words if len(plans) == 1 else f"{plan.request.title}: {words}")
            code = max(code, FALLS_SHORT if plan.shortfalls else DONE)
    return code


def say_unsettled(effort: Effort, *plans: Plan) -> None:
    """Say once that panels which a search found anew may be others than those that were handed over."""
    found = [one for one in plans if one.request.settled is None and not one.request.panels]
    if any(one.request.mosaic.columns is None for one in found):
        say(
            f"the panels are not settled: they were found anew by this run (--effort {effort}), and another effort "
            "or version may find others than those that were handed over; settle them (plan FILE --settle) before "
            "they are shot"
        )


def verdict(shortfalls: Sequence[str]) -> int:
    """Say where a plan falls short, and return the exit code."""
    if not shortfalls:
        return DONE
    say(f"the plan falls short: {'; '.join(shortfalls)}")
    return FALLS_SHORT


def run_from_table(request: Request, table: Path, output: Output) -> int:
    """Prove the pointings of a table against the request's region, and answer as `plan` does.

    Exit code 1 means that the panels leave a gap or less overlap than was asked.
    """
    from planner.files.pointings.read import request_from_table

    plan = planned(request_from_table(table, request), output)
    write_plan(plan, output)
    show_plan(plan, output)
    return verdict(plan.shortfalls)

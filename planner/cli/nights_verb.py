"""`nights`: when each panel can be shot, in which filter, at what cost; the timetable and its sheets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.errors import InputError
from planner.exit_codes import DONE, FALLS_SHORT

from ._show import (
    PATH,
    effort_option,
    goal_option,
    json_option,
    out_option,
    print_json,
    print_line,
    progress_shown,
    say,
    write_out,
)
from .progress.now_option import Moment, moment, now_option

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.answers.plan import Plan
    from planner.night.timetable import Goal
    from planner.progress import Effort, Progress

__all__ = ["nights_verb"]


@click.command("nights")
@click.argument("file", type=PATH)
@out_option
@json_option
@goal_option("Finish soonest (default) or cheapest.")
@click.option(
    "--done",
    type=PATH,
    metavar="REVIEW",
    help="A review.json: only what remains, from the coming evening on, as progress has it.",
)
@now_option
@effort_option
@click.option("--dark", is_flag=True, help="Draw the year light on dark.")
def nights_verb(
    file: Path,
    *,
    out: Path | None,
    as_json: bool,
    goal: Goal,
    done: Path | None,
    now: str | None,
    effort: Effort,
    dark: bool,
) -> int:
    """Tell when each panel of the plan FILE can be shot, and arrange the season.

    The plan file needs [site] and [nights]; with [[filters]] there is a timetable. With --out it writes
    nights.json, nights.pdf (a page a night), nights.ics and year.png. Exit code 1 means that exposures are
    missing or a panel can never be shot. Examples:

    \b
    python -m planner nights sample_targets/vela_shell.toml
    python -m planner nights plan.toml --goal cheapest --done review.json --out nights
    """
    from planner.files.plan_file.shared import shares_mosaic

    if now is not None and done is None:
        raise InputError("--now needs --done, the review.json of what has been shot; give both or neither")
    told = moment(now)

    from .nights_report import nights_files, say_made_up, say_over
    from .plan_answer import say_changed

    if shares_mosaic(file):
        from .shared.nights import shared_nights

        return shared_nights(
            file, out=out, as_json=as_json, goal=goal, done=done, now=told, effort=effort, dark=dark
        )
    with progress_shown() as progress:
        plan, nights, words = _planned(file, goal, done, told, effort, progress)
        contents = nights_files(nights, progress, dark) if out else {}
    say_made_up(done)
    say_over(*([plan.request] if done is None else []))
    if out:
        write_out(out, contents)
    if as_json:
        from planner.files.documents.nights import nights_document

        print_json(nights_document(nights))
    else:
        from .nights_report import print_nights

        if words:
            print_line(words)
            print_line()
        print_nights(nights)
    return max(_verdict(nights), say_changed(plan))


def _planned(
    file: Path, goal: Goal, done: Path | None, now: Moment, effort: Effort, progress: Progress
) -> tuple[Plan, NightsPlan, str]:
    """Return a plan, its nights, and from when on they are of what remains, in words."""
    from planner.answers.nights import check_nights, plan_nights
    from planner.answers.plan import make_plan
    from planner.answers.progress import remaining_nights
    from planner.files.documents.reviewed import read_shot
    from planner.files.plan_file.read import read_plan_file

    request = read_plan_file(file)
    check_nights(request, 1)
    plan = make_plan(request, effort=effort, progress=progress)
    if done is None:
        return plan, plan_nights(plan, goal=goal, progress=progress), ""
    shot = read_shot(done, plan)
    rest = remaining_nights(plan, shot.done, shot.shots, now=now, goal=goal, progress=progress)
    return plan, rest.nights(plan), rest.words


def _verdict(nights: NightsPlan) -> int:
    """Say what is missing, and return the exit code."""
    from planner.answers.nights import shortfalls

    for text in shortfalls(nights):
        say(text)
    return FALLS_SHORT if nights.falls_short else DONE

"""`progress`: what is done, what is left, until when, at what cost."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.cli._show import (
    GOALS,
    PATH,
    effort_option,
    json_option,
    out_option,
    print_json,
    progress_shown,
    say,
    write_out,
)
from planner.cli.plan_answer import say_changed, say_unsettled
from planner.cli.progress.now_option import Moment, moment, now_option
from planner.cli.review_options import LimitOptions, check_folder, limit_options, solve_option
from planner.exit_codes import DONE, FALLS_SHORT

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.answers.progress import MosaicProgress
    from planner.frames.review.review import Review
    from planner.night.timetable import Goal
    from planner.progress import Effort, Progress

__all__ = ["progress_verb"]


@click.command("progress", context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.argument("file", type=PATH)
@click.argument("folder", type=PATH)
@out_option
@json_option
@now_option
@click.option(
    "--goal",
    type=click.Choice(GOALS),
    default="soonest",
    help="Finish what remains soonest (default) or cheapest.",
)
@limit_options
@solve_option
@effort_option
def progress_verb(**options: Any) -> int:
    """Tell where the mosaic of the plan FILE stands by the frames in FOLDER, and in all folders below it.

    What is done of each panel and filter, what to shoot on the coming evening and why, when all will be
    done, what it has cost and will. With --out it writes progress.json, progress.png and progress.pdf, a
    picture for the wall. Exit code 1 means that something is wanted still. Examples:

    \b
    python -m planner progress sample_targets/vela_shell.toml frames
    python -m planner progress plan.toml frames --now 2027-02-01 --out out
    """  # noqa: D301 - click reads the escape
    from planner.files.plan_file.shared import shares_mosaic

    asked = _Options(**options)
    now = moment(asked.now)
    check_folder(asked.folder)
    if shares_mosaic(asked.file):
        return _shared(asked, now)
    with progress_shown() as progress:
        standing = _standing(asked, now, progress)
        contents = _contents(standing) if asked.out else {}
    if asked.out:
        write_out(asked.out, contents)
    _show(standing, as_json=asked.as_json)
    say_unsettled(asked.effort, standing.plan)
    return max(_exit_code(standing), say_changed(standing.plan))


@dataclass(frozen=True)
class _Options(LimitOptions):
    """What was asked on the command line."""

    file: Path
    folder: Path
    out: Path | None
    as_json: bool
    now: str | None
    goal: Goal
    solve: bool
    effort: Effort


def _shared(asked: _Options, now: Moment) -> int:
    """Tell it of a mosaic that several instruments share."""
    from planner.cli.shared.progress import SharedProgressWork

    return SharedProgressWork(
        asked.file,
        asked.folder,
        asked.out,
        asked.as_json,
        asked.solve,
        now,
        asked.goal,
        asked.effort,
        asked.limits,
        _contents,
    ).run()


def _standing(asked: _Options, now: Moment, progress: Progress) -> MosaicProgress:
    from planner.answers.plan import make_plan
    from planner.answers.progress import check_progress, progress_of
    from planner.files.plan_file.read import read_plan_file

    plan = make_plan(read_plan_file(asked.file), effort=asked.effort, progress=progress)
    check_progress(plan)
    review = _review(asked, plan, progress)
    for sentence in review.unread_folders:
        say(sentence)
    return progress_of(plan, review, now=now, goal=asked.goal, progress=progress)


def _review(asked: _Options, plan: Plan, progress: Progress) -> Review:
    from planner.frames.review.reading import FrameReader
    from planner.frames.review.review import review_folder
    from planner.frames.solve.frame_solver import FrameSolver

    solver = FrameSolver(plan.request.camera, plan.mosaic.panels) if asked.solve else None
    return review_folder(
        plan.request,
        plan.mosaic,
        asked.folder,
        limits=asked.limits(plan.request),
        reader=FrameReader(solver),
        progress=progress,
    )


def _contents(standing: MosaicProgress) -> dict[str, bytes]:
    """Every file; nothing is written before all are there."""
    from planner.draw.paper.progress_sheet import progress_pdf, progress_png
    from planner.files.documents.progress import progress_json_bytes

    return {
        "progress.json": progress_json_bytes(standing),
        "progress.png": progress_png(standing),
        "progress.pdf": progress_pdf(standing),
    }


def _show(standing: MosaicProgress, *, as_json: bool) -> None:
    if as_json:
        from planner.files.documents.progress import progress_json_bytes

        print_json(progress_json_bytes(standing).decode())
    else:
        from .report import print_progress

        print_progress(standing)


def _exit_code(standing: MosaicProgress) -> int:
    from planner.answers.progress.words import shortfall

    sentence = shortfall(standing)
    if sentence:
        say(sentence)
        return FALLS_SHORT
    return DONE

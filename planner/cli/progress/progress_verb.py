"""`progress`: what is done, what is left, until when, at what cost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from planner.cli._show import (
    PATH,
    effort_option,
    goal_option,
    json_option,
    out_option,
    print_json,
    progress_shown,
    say,
    write_out,
)
from planner.cli.plan_answer import say_changed, say_unsettled
from planner.cli.progress.now_option import Moment, moment, now_option
from planner.cli.review_options import ProgressOptions, check_folder, limit_options, solve_option
from planner.exit_codes import DONE, FALLS_SHORT

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.answers.progress import MosaicProgress
    from planner.frames.review.review import Review
    from planner.progress import Progress

__all__ = ["progress_verb"]


@click.command("progress")
@click.argument("file", type=PATH)
@click.argument("folder", type=PATH)
@out_option
@json_option
@now_option
@goal_option("Finish what remains soonest (default) or cheapest.")
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

    from .report import progress_files

    asked = ProgressOptions(**options)
    now = moment(asked.now)
    check_folder(asked.folder)
    if shares_mosaic(asked.file):
        from planner.cli.shared.progress import shared_progress

        return shared_progress(asked, now)
    with progress_shown() as progress:
        standing = _standing(asked, now, progress)
        contents = progress_files(standing) if asked.out else {}
    if asked.out:
        write_out(asked.out, contents)
    _show(standing, as_json=asked.as_json)
    say_unsettled(asked.effort, standing.plan)
    return max(_exit_code(standing), say_changed(standing.plan))


def _standing(asked: ProgressOptions, now: Moment, progress: Progress) -> MosaicProgress:
    from planner.answers.plan import make_plan
    from planner.answers.progress import check_progress, progress_of
    from planner.files.plan_file.read import read_plan_file

    plan = make_plan(read_plan_file(asked.file), effort=asked.effort, progress=progress)
    check_progress(plan)
    review = _review(asked, plan, progress)
    for sentence in review.unread_folders:
        say(sentence)
    return progress_of(plan, review, now=now, goal=asked.goal, progress=progress)


def _review(asked: ProgressOptions, plan: Plan, progress: Progress) -> Review:
    from planner.frames.review.reading import FrameReader
    from planner.frames.review.review import review_folder

    return review_folder(
        plan.request,
        plan.mosaic,
        asked.folder,
        limits=asked.limits(plan.request),
        reader=FrameReader(plan.solver() if asked.solve else None),
        progress=progress,
    )


def _show(standing: MosaicProgress, *, as_json: bool) -> None:
    if as_json:
        from planner.files.documents.progress import progress_document

        print_json(progress_document(standing))
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

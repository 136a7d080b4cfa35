"""`planner review`: frames that came back against the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from planner.exit_codes import DONE

from ._show import PATH, effort_option, json_option, out_option, progress_shown, say
from .review_options import ReviewOptions, limit_options, solve_option

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.progress import Progress
    from planner.request.request import Request

__all__ = ["review_verb"]


@click.command("review")
@click.argument("file", type=PATH)
@click.argument("folder", type=PATH)
@out_option
@json_option
@limit_options
@solve_option
@click.option("--write-solutions", is_flag=True, help="Write each solution found beside its frame.")
@click.option("--reshoot", type=PATH, metavar="TOML", help="Write a plan file of what is missing.")
@click.option(
    "--preview",
    "previews",
    type=PATH,
    multiple=True,
    metavar="PNG|FITS",
    help="Lay good frames together in this preview; may repeat.",
)
@click.option(
    "--preview-scale",
    type=float,
    metavar="FRACTION",
    help="Size of the preview relative to the picture, above 0 to 1.",
)
@click.option(
    "--preview-frames",
    type=click.Choice(["mean", "best"]),
    default="mean",
    help="All good frames (mean, default) or the sharpest of each panel and filter (best).",
)
@click.option("--colours", metavar="R,G,B", help="Filters that are shown red, green and blue.")
@click.option("--scheduler", metavar="ADDRESS", help="Make the preview on this dask cluster.")
@click.option(
    "--watch",
    is_flag=True,
    help="Follow the folder: judge frames as they come in and keep review.json in --out up to date, until Ctrl-C.",
)
@click.option(
    "--on-change",
    metavar="COMMAND",
    help="With --watch: run this command at each change of state, which it gets as a line on standard input.",
)
@effort_option
def review_verb(**options: Any) -> int:
    """Compare the frames in FOLDER, and in all folders below it, with the plan FILE.

    Frames are only read, never changed. Exit code 1 means that something is missing. Examples:

    \b
    python -m planner review sample_targets/vela_shell.toml frames
    python -m planner review plan.toml frames --out out --reshoot again.toml --preview preview.png
    python -m planner review plan.toml frames --out out --watch
    """  # noqa: D301 - click reads the escape
    from planner.files.documents.review import FrameSpool
    from planner.files.plan_file.read import read_plan_file
    from planner.files.plan_file.shared import shares_mosaic

    from .plan_answer import say_changed, say_unsettled
    from .review_report import Faulty
    from .reviewing.run import ReviewRun, exit_code, read_index

    asked = ReviewOptions(**options)
    if shares_mosaic(asked.file):
        from .shared.review import shared_review

        return shared_review(asked)
    request = read_plan_file(asked.file)
    limits = asked.limits(request)
    asked.check(request)
    if asked.watch:
        return _watch(asked, request)
    with FrameSpool(asked.folder) as spool, read_index(asked) as index, progress_shown() as progress:
        plan = _planned(asked, request, progress)
        work = ReviewRun(asked, plan, spool, Faulty(asked.folder), index)
        review = work.review(limits, progress)
        work.preview(progress)
        work.write(review, limits)
        work.show(review, limits)
    say_unsettled(asked.effort, plan)
    return max(exit_code(review), say_changed(plan))


def _planned(asked: ReviewOptions, request: Request, progress: Progress) -> Plan:
    from planner.answers.plan import make_plan

    return make_plan(request, effort=asked.effort, progress=progress)


def _watch(asked: ReviewOptions, request: Request) -> int:
    """Follow the folder; Ctrl-C is how a watch ends, so it is no failure."""
    from .watching.follow import follow

    try:
        with progress_shown() as progress:
            plan = _planned(asked, request, progress)
        follow(asked, plan)
    except KeyboardInterrupt:
        say("stopped")
    return DONE

"""`plan`: the mosaic of a plan file, or of options that stand for one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.errors import InputError, PlannerError

from ._show import PATH, effort_option, json_option, out_option, print_line, refuse_existing
from .plan_answer import planned, show_plan, verdict, write_plan
from .plan_extras import Output, asked_extra, extra_options, run_extra
from .plan_settle import kept_text, let_go, say_what_keeping_saves, with_kept, write_kept
from .request_options import (
    REQUEST_OPTIONS,
    as_typed,
    document_from_options,
    given_flags,
    moved_document,
    request_options,
)

if TYPE_CHECKING:
    from planner.progress import Effort
    from planner.request.request import Request

__all__ = ["plan_verb"]


@click.command("plan")
@click.argument("file", required=False, type=PATH)
@out_option
@json_option
@effort_option
@click.option("--dark", is_flag=True, help="Draw the chart light on dark.")
@click.option("--no-chart", is_flag=True, help="Write no chart.")
@click.option("--save-as", type=PATH, help="Write the plan file that the options stand for.")
@click.option(
    "--settle", is_flag=True, help="Keep the panels in the plan file: no search changes them any more."
)
@click.option("--unsettle", is_flag=True, help="Let the panels that the plan file keeps go, and plan anew.")
@click.option(
    "--keep",
    type=PATH,
    metavar="REVIEW|FOLDER",
    help="Keep the panels with good frames, by review.json or a folder of solved frames, and add the fewest others.",
)
@click.option(
    "--keep-all",
    is_flag=True,
    help="With --keep FOLDER: keep the ground of frames too that a review would not call good, at its own angle.",
)
@extra_options
@request_options
def plan_verb(
    file: Path | None,
    *,
    out: Path | None,
    as_json: bool,
    effort: Effort,
    dark: bool,
    no_chart: bool,
    save_as: Path | None,
    settle: bool = False,
    unsettle: bool = False,
    keep: Path | None = None,
    keep_all: bool = False,
    **options: Any,
) -> int:
    """Plan the mosaic of FILE, or of the options that stand for a plan file.

    Shows the panels and what is proven of them; with --out it writes plan.json, panels.csv, panels.ecsv and
    chart.png. Exit code 1 means that the plan falls short of what was asked. Examples:

    \b
    python -m planner plan sample_targets/vela_shell.toml --out out
    python -m planner plan --object "NGC 3372" --focal-length-mm 380 \\
        --sensor-px 6000 4000 --pixel-um 3.9 --overlap 0.15 --save-as carina.toml
    """
    if keep_all and keep is None:
        raise click.UsageError("--keep-all goes with --keep FOLDER; give the folder of solved frames with it")
    if file and _shares(file):
        from .shared.plan import shared_plan

        given = {"--keep": keep is not None, "--save-as": bool(save_as)}
        flags = [*(flag for flag, value in given.items() if value), *given_flags(options)]
        output = Output(out, as_json, effort, dark, not no_chart)
        return shared_plan(file, output, options, flags, settle=settle, unsettle=unsettle)
    _check_settling(file, options, {"--settle": settle, "--unsettle": unsettle, "--keep": keep is not None})
    request = let_go(file) if file and unsettle else _request(file, options, save_as)
    stays = None if keep is None else with_kept(request, keep, every_ground=keep_all)
    bare, request = request, request if stays is None else stays.request
    also = {save_as: _plan_file(save_as, options)} if save_as else {}
    output = Output(out, as_json, effort, dark, not no_chart, also)
    extra = asked_extra(options)
    if extra:
        return run_extra(extra, request, options, output)
    plan = planned(request, output, whole=settle or unsettle)
    if stays is not None:
        say_what_keeping_saves(bare, len(stays.request.panels), len(plan.mosaic.panels))
    made_up = stays is not None and stays.made_up > 0
    kept = kept_text(file, plan, settle=settle, unsettle=unsettle, made_up=made_up) if file else None
    write_plan(plan, output)
    if file and kept is not None:
        write_kept(file, kept, f"{len(plan.mosaic.panels)} panels" if settle else None)
    show_plan(plan, output)
    if file is None and save_as is None and not as_json:
        print_line("Add --save-as FILE to write the plan file that these options stand for.")
    return verdict(plan.shortfalls)


def _shares(file: Path) -> bool:
    from planner.files.plan_file.shared import shares_mosaic

    return shares_mosaic(file)


def _check_settling(file: Path | None, options: dict[str, Any], asked: dict[str, bool]) -> None:
    flags = [flag for flag, given in asked.items() if given]
    if flags and (file is None or given_flags(options)):
        raise click.UsageError(
            f"{flags[0]} is for plan files, which keep the panels; write one with --save-as first"
        )
    extra = asked_extra(options) if flags else None
    apart = [flags[0], extra.flag] if extra else [flag for flag in flags if flag != "--settle"]
    if len(apart) > 1:
        raise click.UsageError(f"{' and '.join(apart)} exclude each other; give one of them")


def _request(file: Path | None, options: dict[str, Any], save_as: Path | None) -> Request:
    """Read the plan file, or the options in its place."""
    from planner.files.plan_file.read import read_plan_file, request_from_document

    flags = given_flags(options)
    if file is None:
        if not flags:
            raise click.UsageError("plan needs a plan file, or --object or --center; see plan --help")
        refuse_existing(save_as)
        _check_enough(flags)
        try:
            return request_from_document(document_from_options(options))
        except PlannerError as error:
            raise InputError(as_typed(str(error), flags)) from error
    if flags or save_as:
        raise click.UsageError(
            f"{(flags or ['--save-as'])[0]} is for plans without a file, got {file} too; change the file"
        )
    return read_plan_file(file)


def _check_enough(flags: list[str]) -> None:
    """Refuse options without a camera or without a region, in words of options."""
    tables = {one.table for one in REQUEST_OPTIONS if one.flag in flags}
    if "camera" not in tables and "--setup" not in flags:
        raise click.UsageError(
            "a plan needs a camera, got none; give --setup FILE, or --focal-length-mm, --sensor-px and --pixel-um"
        )
    if "region" not in tables:
        raise click.UsageError(
            "a plan needs a region, got none; give --object, --center, --outline-file or --earlier-picture"
        )


def _plan_file(path: Path, options: dict[str, Any]) -> bytes:
    """Content of the plan file that the options stand for, names of other files relative to it."""
    from planner.files.plan_file.write import new_plan_text

    return new_plan_text(moved_document(document_from_options(options), path.parent)).encode()

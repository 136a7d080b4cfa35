"""`planner handover`: every exchange file of a plan, in one folder or one zip file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.exit_codes import DONE, FALLS_SHORT
from planner.words import listed

from ._show import (
    PATH,
    effort_option,
    goal_option,
    json_option,
    print_json,
    print_line,
    print_table,
    progress_shown,
    say,
)
from .given.kinds import DATE, FOLDER

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.handover.index import HandoverFile
    from planner.night.timetable import Goal
    from planner.progress import Effort

__all__ = ["handover_verb"]

ZIP_NAME = "handover.zip"
ZIP_STANDARD = "ZIP"
REPLACE = "give --replace to replace an earlier hand-over"
EXAMPLE_NAME = "example_table.toml"


@click.command("handover")
@click.argument("file", required=False, type=PATH)
@click.option("--out", type=FOLDER, metavar="FOLDER", help="Write the files into this folder.")
@json_option
@click.option("--only", multiple=True, metavar="KIND", help="Write this kind of file only; may repeat.")
@click.option("--zip", "as_zip", is_flag=True, help=f"Write one file, {ZIP_NAME}, instead of many.")
@click.option("--replace", is_flag=True, help="Replace the files of an earlier hand-over.")
@click.option(
    "--planned-on", type=DATE, metavar="DATE", help="Date when the plan was made, such as 2027-01-08."
)
@goal_option("The calendar's timetable finishes soonest (default) or cheapest, as with nights.")
@effort_option
@click.option("--example-table", is_flag=True, help="Print a commented [[tables]] to start from.")
def handover_verb(
    file: Path | None,
    *,
    out: Path | None,
    as_json: bool,
    only: Sequence[str],
    as_zip: bool,
    replace: bool,
    planned_on: dt.datetime | None,
    goal: Goal,
    effort: Effort,
    example_table: bool,
) -> int:
    """Write every exchange file of the plan FILE.

    The kinds: sheet (PDF for a person), tables (your own, from [[tables]]), votable (planned observations, for
    archives), ecsv (panels as a table with units), json (the plan for programs), headers (FITS, one for each
    panel), calendar (the timetable), moc (maps of the sky covered). An index, README.txt, names each file with
    its checksum. Only --replace overwrites, and only files of an earlier hand-over. Examples:

    \b
    python -m planner handover sample_targets/vela_shell.toml --out handover
    python -m planner handover plan.toml --only tables --only sheet --zip --out handover
    python -m planner handover --example-table
    """
    from planner.handover.folder import refuse_overwriting
    from planner.handover.index import INDEX_NAME

    if example_table:
        return _example(out, replace)
    if file is None:
        raise click.UsageError("handover needs a plan file; see handover --help")
    if out is not None:
        refuse_overwriting(out, [ZIP_NAME if as_zip else INDEX_NAME], replace=replace, cure=REPLACE)
    files, verdict = _files(file, effort, only, planned_on.date() if planned_on else None, goal)
    entries = _written(files, out, as_zip=as_zip, replace=replace, whole=not only)
    if as_json:
        print_json({"schema": "handover 1", "files": entries})
    else:
        _show(files, out, as_zip)
    return verdict()


def _example(out: Path | None, replace: bool) -> int:
    from planner.files.user_table.example import example_table
    from planner.handover.folder import write_handover

    if out is None:
        print(example_table().rstrip("\n"))
        return DONE
    write_handover(out, {EXAMPLE_NAME: example_table().encode()}, replace=replace, whole=False, cure=REPLACE)
    print_line(f"wrote {out / EXAMPLE_NAME}")
    return DONE


def _files(
    file: Path, effort: Effort, only: Sequence[str], planned_on: dt.date | None, goal: Goal
) -> tuple[list[HandoverFile], Callable[[], int]]:
    """Every file, and what says in the end where the plan falls short: of one instrument, or of several."""
    from planner.files.plan_file.shared import shares_mosaic

    if shares_mosaic(file):
        from .shared.handover import shared_handover, shared_handover_verdict

        shared, files = shared_handover(file, effort, only, planned_on, goal)
        return files, lambda: shared_handover_verdict(shared, only)
    plan, files = _made(file, effort, only, planned_on, goal)
    return files, lambda: _verdict(plan, only)


def _made(
    file: Path, effort: Effort, only: Sequence[str], planned_on: dt.date | None, goal: Goal
) -> tuple[Plan, list[HandoverFile]]:
    """Make the plan and all files in memory; nothing is written before everything is there."""
    from planner.answers.plan import make_plan
    from planner.files.plan_file.read import read_plan_file
    from planner.handover.handover import check_kinds, handover_files

    request = read_plan_file(file)
    check_kinds(request, only)
    with progress_shown() as progress:
        plan = make_plan(request, effort=effort, progress=progress)
        return plan, handover_files(plan, only=only, planned_on=planned_on, goal=goal, progress=progress)


def _written(
    files: Sequence[HandoverFile], out: Path | None, *, as_zip: bool, replace: bool, whole: bool
) -> list[dict[str, Any]]:
    """Write the files if there is a folder for them; returns what stands in it, for the machine form."""
    from planner.handover.folder import handover_zip, write_handover

    entries: list[dict[str, Any]] = [
        {"path": file.path, "kind": file.kind, "standard": file.standard} for file in files
    ]
    contents = {file.path: file.content for file in files}
    if as_zip:
        contents = {ZIP_NAME: handover_zip(files)}
        entries = [{"path": ZIP_NAME, "kind": "zip", "standard": ZIP_STANDARD, "holds": entries}]
    if out is not None:
        whole = whole and not as_zip
        replaced, removed = write_handover(out, contents, replace=replace, whole=whole, cure=REPLACE)
        for names, what in ((replaced, "replaced"), (removed, "removed, as this hand-over lacks them")):
            if names:
                say(f"{what} in {out}: {listed(names, 5)}")
    return entries


def _show(files: Sequence[HandoverFile], out: Path | None, as_zip: bool) -> None:
    from planner.handover.index import kinds_and_standards

    rows = []
    for kind, standard in kinds_and_standards(files):
        found = [file for file in files if (file.kind, file.standard) == (kind, standard)]
        names = found[0].path if len(found) == 1 else f"{found[0].path} ... ({len(found)} files)"
        rows.append((kind, names, f"{sum(len(file.content) for file in found) / 1000:.1f} kB", standard))
    print_table(("Kind", "~File", ">Size", "~Standard"), rows)
    print_line()
    if out is None:
        missing = f"--out is missing; give --out FOLDER, which gets {ZIP_NAME}"
        print_line(
            f"Nothing has been written: {missing}."
            if as_zip
            else "Nothing has been written; --out FOLDER writes these files, --zip as one."
        )

    else:
        print_line(f"wrote {out / ZIP_NAME if as_zip else out}")


def _verdict(plan: Plan, only: Sequence[str]) -> int:
    from planner.handover.handover import handover_warnings

    from .plan_answer import say_changed

    for warning in handover_warnings(plan, only=only):
        say(f"warning: {warning}")
    say_changed(plan)
    for shortfall in plan.shortfalls:
        say(shortfall)
    return FALLS_SHORT if plan.shortfalls else DONE

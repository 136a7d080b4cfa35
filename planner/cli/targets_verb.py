"""`targets`: what a site, a field and a camera angle are good for in a season."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.exit_codes import DONE, FALLS_SHORT

from ._show import PATH, json_option, out_option, print_json, progress_shown, refuse_existing, say, write_all
from .targets.options import Given, nights_of, target_options, wish_of
from .targets.serving import print_served, served_of

if TYPE_CHECKING:
    from planner.answers.targets.served import Weighing
    from planner.answers.targets.target import TargetList
    from planner.cli.targets.serving import Served
    from planner.files.output import Content

__all__ = ["targets_verb"]

MOST_SAVED = 40
"""So many plan files at most are written."""


@click.command("targets")
@click.argument("setup", type=PATH)
@target_options
@click.option(
    "--done", type=PATH, metavar="FOLDER", help="Mark what plan files in this folder cover already."
)
@click.option(
    "--save-as",
    type=PATH,
    metavar="FOLDER",
    help="Write plan files of the rows, at most the first 40, into this new folder.",
)
@click.option(
    "--weigh",
    type=click.Choice(["count", "hours", "area"]),
    default="count",
    help="What a target counts for in the angle that serves most: one, its hours, its area (default count).",
)
@click.option(
    "--weights",
    type=PATH,
    metavar="FILE",
    help="Your own weights instead: a CSV file of name and weight; what it does not name counts nothing.",
)
@out_option
@json_option
@click.option("--dark", is_flag=True, help="Draw the charts light on dark (the PNG; the PDF is for paper).")
def targets_verb(
    setup: Path,
    *,
    done: Path | None,
    save_as: Path | None,
    weigh: Weighing,
    weights: Path | None,
    out: Path | None,
    as_json: bool,
    dark: bool,
    **given: Any,
) -> int:
    """List what the setup file SETUP can frame in a season.

    For every nebula that one frame of its camera holds (with --panels, or a small mosaic) and that rises above its
    site's limits in the dark: the hours through each filter, the greatest altitude, the best centre, angle and
    margin of the frame, the angles that leave the margin asked for, the margin at the camera's present angle. Then
    how many of the nebulae the present angle serves, and which one angle, two and three serve most. With --out it
    writes targets.json, targets.csv, targets.png and targets.pdf (small charts of the first 40), and angles.png (what
    every angle serves). Exit code 1 means that nothing is found. Examples:

    \b
    python -m planner targets sample_targets/karoo_pier.toml --first 2027-03-01 --last 2027-05-31 --reading 37
    python -m planner targets sample_targets/karoo_pier.toml --first 2027-03-01 --last 2027-05-31 \\
        --kind dark --size 40 120 --by time --save-as season --out out
    """
    refuse_existing(save_as)
    found = _found(setup, Given(**given), done)
    served = served_of(found, weigh, weights)
    contents = _contents(found, served, out, dark)
    if save_as is not None and found.targets:
        contents |= _plan_files(found, save_as)
    write_all(contents)
    _show(found, served, as_json=as_json)
    if not found.targets:
        from .targets.report import nothing_found

        say(nothing_found(found))
        return FALLS_SHORT
    if save_as is not None:
        say(f"wrote {min(len(found.targets), MOST_SAVED)} plan files into {save_as}")
    return DONE


def _found(path: Path, given: Given, done: Path | None) -> TargetList:
    from planner.answers.targets.find import find_targets
    from planner.files.plan_file.read import read_setup_file
    from planner.files.plan_file.target_plans import plans_in

    setup = read_setup_file(path)
    wish, nights = wish_of(given, setup), nights_of(given, setup)
    plans = plans_in(done) if done is not None else []
    with progress_shown() as progress:
        return find_targets(setup, nights, wish, done=plans, progress=progress)


def _contents(found: TargetList, served: Served, out: Path | None, dark: bool) -> dict[Path, Content]:
    if out is None:
        return {}
    from planner.draw.pictures.target_charts import target_charts_pdf, target_charts_png
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.targets import targets_document
    from planner.files.exchange.target_table import targets_csv_bytes

    contents: dict[Path, Content] = {
        out / "targets.json": json_bytes(targets_document(found, served.service)),
        out / "targets.csv": targets_csv_bytes(found),
    }
    if found.targets:
        contents[out / "targets.png"] = target_charts_png(found, dark=dark)
        contents[out / "targets.pdf"] = target_charts_pdf(found)
        contents[out / "angles.png"] = served.png(found, dark=dark)
    return contents


def _plan_files(found: TargetList, folder: Path) -> dict[Path, Content]:
    from planner.files.plan_file.target_plans import target_plan_texts

    texts = target_plan_texts(found, MOST_SAVED, folder)
    return {folder / name: text.encode() for name, text in texts.items()}


def _show(found: TargetList, served: Served, *, as_json: bool) -> None:
    if as_json:
        from planner.files.documents.targets import targets_document

        print_json(targets_document(found, served.service))
    elif found.targets:
        from .targets.report import print_targets

        print_targets(found)
        print_served(found, served)

"""`rehearse`: the timetable played without a telescope; frames as they would come back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.answers.rehearsal.choices import FAULT_LEVELS, LARGEST_SEED, SOLUTIONS, FaultLevel, Solutions
from planner.cli._show import PATH, effort_option, json_option, print_json, progress_shown, say
from planner.exit_codes import DONE

if TYPE_CHECKING:
    from planner.answers.rehearsal.rehearsal import Rehearsal
    from planner.answers.shared.shared_rehearsal import SharedRehearsal
    from planner.progress import Progress

__all__ = ["rehearse_verb"]

MOST_NIGHTS = 10_000


@click.command("rehearse")
@click.argument("file", type=PATH)
@click.argument("folder", type=PATH)
@click.option(
    "--nights",
    type=click.IntRange(1, MOST_NIGHTS),
    metavar="N",
    help="Only the first N evenings of the timetable that have entries, 1 to 10,000 (default all).",
)
@click.option(
    "--faults", type=click.Choice(FAULT_LEVELS), default="some", help="How much goes wrong (default some)."
)
@click.option(
    "--solutions",
    type=click.Choice(SOLUTIONS),
    default="half",
    help="Which headers hold a plate solution: all, every second (half, default) or none.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, LARGEST_SEED),
    metavar="S",
    default=1,
    help="The same seed makes the same frames, 0 to 9223372036854775807 (default 1).",
)
@json_option
@effort_option
def rehearse_verb(
    file: Path,
    folder: Path,
    *,
    nights: int | None,
    faults: FaultLevel,
    solutions: Solutions,
    seed: int,
    as_json: bool,
    effort: str,
) -> int:
    """Make up the frames of the plan FILE that would come back, and write them into FOLDER.

    The timetable is played without a telescope: small frames with catalogue stars where they belong, and faults
    in known numbers, told in rehearsal.txt and rehearsal.json beside them. How large they are is said before
    they are drawn. FOLDER is new, empty, or an earlier rehearsal, which is replaced. Examples:

    \b
    python -m planner rehearse sample_targets/vela_shell.toml practice_frames --nights 2
    python -m planner rehearse plan.toml frames --faults many --solutions none --seed 7
    """  # noqa: D301 - click reads the escape
    from planner.files.documents.rehearsal import rehearsal_document
    from planner.files.plan_file.shared import shares_mosaic
    from planner.files.rehearsal.folder import check_rehearsal_folder, write_rehearsal
    from planner.files.rehearsal.names import names_of_parts

    from .report import print_rehearsal, sizes

    check_rehearsal_folder(folder)
    with progress_shown() as progress:
        how: Any = {"evenings": nights, "faults": faults, "solutions": solutions, "seed": seed}
        make = _shared if shares_mosaic(file) else _of_one
        rehearsal = make(file, effort, progress, how)
        say(f"{folder}: {sizes(rehearsal)}")
        replaced = write_rehearsal(folder, rehearsal, progress=progress)
    if replaced:
        say(f"replaced an earlier rehearsal of {replaced} frames in {folder}")
    if as_json:
        print_json(rehearsal_document(rehearsal, names_of_parts(rehearsal)))
    else:
        print_rehearsal(rehearsal, folder)
    return DONE


def _of_one(file: Path, effort: str, progress: Progress, how: Any) -> Rehearsal:
    from planner.answers.nights import check_nights, plan_nights
    from planner.answers.plan import make_plan
    from planner.answers.rehearsal.exposures import check_rehearsal
    from planner.answers.rehearsal.rehearsal import make_rehearsal
    from planner.files.plan_file.read import read_plan_file

    request = read_plan_file(file)
    check_nights(request, 1)
    check_rehearsal(request)
    plan = make_plan(request, effort=effort, progress=progress)  # type: ignore[arg-type]
    return make_rehearsal(plan_nights(plan, progress=progress), **how)


def _shared(file: Path, effort: str, progress: Progress, how: Any) -> SharedRehearsal:
    from planner.answers.shared.shared_nights import check_shared_nights, plan_shared_nights
    from planner.answers.shared.shared_plan import make_shared_plan
    from planner.answers.shared.shared_rehearsal import check_shared_rehearsal, make_shared_rehearsal
    from planner.files.plan_file.shared import read_shared_file

    request = read_shared_file(file)
    check_shared_nights(request)
    check_shared_rehearsal(request)
    shared = make_shared_plan(request, effort=effort, progress=progress)  # type: ignore[arg-type]
    return make_shared_rehearsal(plan_shared_nights(shared, progress=progress), **how)

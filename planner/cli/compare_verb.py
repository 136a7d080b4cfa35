"""`compare`: the same region with several setups."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.exit_codes import DONE, FALLS_SHORT

from ._show import PATH, effort_option, json_option, out_option, print_json, progress_shown, say, write_out

if TYPE_CHECKING:
    from planner.answers.compare import SetupAnswer
    from planner.progress import Effort

__all__ = ["compare_verb"]


@click.command("compare")
@click.argument("file", type=PATH)
@click.argument("setups", metavar="SETUP...", type=PATH, nargs=-1, required=True)
@out_option
@json_option
@effort_option
def compare_verb(
    file: Path, setups: tuple[Path, ...], *, out: Path | None, as_json: bool, effort: Effort
) -> int:
    """Compare setups for the region of the plan file FILE: telescopes of one's own, or for hire.

    Every SETUP (a setup file, TOML) gets the same region, overlap and picture, at the best angle that its
    device can be set to. Sorted: those that can do it first, by hours of exposure, then by panels. With --out it
    writes compare.json. Exit code 1 means that none of them can do it. Example:

    \b
    python -m planner compare sample_targets/vela_shell.toml \\
        sample_targets/karoo_pier.toml sample_targets/canary_pier.toml
    """
    title, answers = _answers(file, setups, effort)
    if out:
        from planner.files.documents.compare import compare_document
        from planner.files.documents.json_text import json_bytes

        write_out(out, {"compare.json": json_bytes(compare_document(answers))})
    _show(title, answers, as_json=as_json)
    if all(answer.cannot for answer in answers):
        say(f"no setup can do it: {'; '.join(f'{one.name}: {one.cannot[0]}' for one in answers)}")
        return FALLS_SHORT
    return DONE


def _answers(file: Path, setups: tuple[Path, ...], effort: Effort) -> tuple[str, tuple[SetupAnswer, ...]]:
    from planner.answers.compare import compare_setups
    from planner.files.plan_file.read import read_plan_file, read_setup_file
    from planner.files.plan_file.shared import read_shared_file, shares_mosaic

    values = [read_setup_file(path) for path in setups]
    if shares_mosaic(file):
        from planner.answers.shared.shared_compare import compare_with_shared

        shared = read_shared_file(file)
        with progress_shown() as progress:
            return shared.title, compare_with_shared(shared, values, effort=effort, progress=progress)
    request = read_plan_file(file)
    if request.changed_tables:
        from planner.answers.plan import make_plan
        from planner.answers.settle import changed_words

        say(f"{changed_words(make_plan(request))}; a comparison plans anew with each setup")
    with progress_shown() as progress:
        return request.title, compare_setups(request, values, effort=effort, progress=progress)


def _show(title: str, answers: tuple[SetupAnswer, ...], *, as_json: bool) -> None:
    if not as_json:
        from .compare_report import print_comparison

        print_comparison(title, answers)
        return
    from planner.files.documents.compare import compare_document

    print_json(compare_document(answers))
    for answer in answers:
        for text in answer.cannot:
            say(f"{answer.name}: {text}")

"""`plan --settle`, `--unsettle` and `--keep`: panels that the plan file keeps, and how they are let go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ._show import progress_shown, say

if TYPE_CHECKING:
    from planner.answers.keeping.keep import Kept
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["kept_text", "let_go", "say_what_keeping_saves", "with_kept", "write_kept"]


def with_kept(request: Request, given: Path, *, every_ground: bool = False) -> Kept:
    """Return what stays of a request, by review.json or a folder, and say it."""
    from planner.files.kept import keep_good

    with progress_shown() as progress:
        kept = keep_good(request, given, every_ground=every_ground, progress=progress)
    for sentence in kept.words():
        say(sentence)
    return kept


def say_what_keeping_saves(request: Request, kept: int, panels: int) -> None:
    """Say where a plan made anew, in rows already, has fewer panels than one with panels that stay.

    Parameters
    ----------
    request : Request
        As it was before panels were kept.
    kept, panels : int
        Panels that stay, and all of the plan.
    """
    from dataclasses import replace

    from planner.answers.in_rows import in_rows
    from planner.answers.plan import make_plan

    bare = replace(request, panels=(), settled=None, names_used=())
    anew = len(make_plan(in_rows(bare), effort="quick").mosaic.panels)
    if anew < panels:
        new = panels - kept
        saved = f"{anew - new} of its panels" if new < anew else "no panel"
        say(
            f"{panels} panels, {kept} of them kept and {new} new; a plan made anew has {anew} in rows already: "
            f"keeping saves {saved} to shoot"
        )


def let_go(file: Path) -> Request:
    """Read a plan file without the panels that it keeps; one that keeps none is as it is."""
    from planner.files.plan_file.read import request_from_text

    return request_from_text(_unsettled_text(file), path=file)


def kept_text(file: Path, plan: Plan, *, settle: bool, unsettle: bool, made_up: bool = False) -> str | None:
    """Return the plan file's text with the panels kept or let go; None where it stays as it is.

    Where made-up frames decided what stays, it says so.
    """
    if not settle and not unsettle:
        return None
    from planner.answers.settle import settled_tables
    from planner.files.plan_file.made_up_mark import marked_made_up
    from planner.files.plan_file.write import update_document
    from planner.files.text_file import read_text

    old = read_text(file, "plan file")
    text = _unsettled_text(file) if unsettle else old
    if settle:
        text = update_document(text, settled_tables(plan))
        text = marked_made_up(text) if made_up else text
    return None if text == old else text


def _unsettled_text(file: Path) -> str:
    from planner.answers.settle import unsettled_tables
    from planner.files.plan_file.write import update_document
    from planner.files.text_file import parse_toml, read_text

    text = read_text(file, "plan file")
    document = parse_toml(text, file, "plan file")
    return update_document(text, unsettled_tables(document)) if "settled" in document else text


def write_kept(file: Path, text: str, kept: str | None) -> None:
    """Write the plan file whole and say what it keeps now, which is told in words; None for nothing."""
    from planner.files.plan_file.write import replace_text

    replace_text(file, text)
    if kept is None:
        from planner.answers.settle import unsettled_words
        from planner.files.text_file import parse_toml

        panels = parse_toml(text, file, "plan file").get("panels", [])
        say(f"{file.name} {unsettled_words([str(one['name']) for one in panels])}")
    else:
        say(f"{file.name} keeps {kept}: every verb takes them as they are")

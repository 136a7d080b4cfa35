"""`plan --compare-turns`: how many panels each further camera angle within one mosaic saves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from . import DONE, FALLS_SHORT
from ._show import print_json, print_line, print_table, progress_shown, say, write_all
from .plan_extras import Output

if TYPE_CHECKING:
    from planner.answers.turns import TurnsRow
    from planner.files.output import Content
    from planner.request.request import Request

__all__ = ["run"]

COLUMNS = ("Turns", ">Panels", ">Angles", ">Overlap found", ">At least", "")
LABEL_WIDTH = 14


def run(request: Request, _value: bool, output: Output) -> int:
    """Plan the request with every number of turns, and answer with a table or turns.json.

    Exit code 1 means that a plan falls short of what was asked.
    """
    from planner.answers.turns import compare_turns

    with progress_shown() as progress:
        rows = compare_turns(request, effort=output.effort, progress=progress)
    _write(request, rows, output)
    _show(request, rows, output)
    for row in rows:
        if row.shortfalls:
            say(f"with turns = {_written(row.turns)} the plan falls short: {'; '.join(row.shortfalls)}")
    return FALLS_SHORT if any(row.shortfalls for row in rows) else DONE


def _write(request: Request, rows: Sequence[TurnsRow], output: Output) -> None:
    from planner.files.documents.turns import turns_json_bytes

    contents: dict[Path, Content] = dict(output.also)
    if output.folder is not None:
        contents[output.folder / "turns.json"] = turns_json_bytes(request.title, rows)
    write_all(contents)
    for path in output.also:
        say(f"wrote the plan file {path}")


def _show(request: Request, rows: Sequence[TurnsRow], output: Output) -> None:
    if output.as_json:
        from planner.files.documents.turns import turns_json_bytes

        print_json(turns_json_bytes(request.title, rows).decode())
        return
    print_table(COLUMNS, [_cells(row) for row in rows], title=request.title)
    print_line()
    for label, text in _remarks(request, rows):
        print_line(f"{label:<{LABEL_WIDTH}}{text}")


def _cells(row: TurnsRow) -> list[str]:
    from planner.files.documents.turns import turns_document

    overlap = turns_document("", [row])["turns"][0]["overlap_found"]
    proven = "proven fewest" if row.panels == row.panel_count_bound else ""
    taken = f"the plan of turns = {_written(row.taken_from)}" if row.taken_from is not None else ""
    remark = "; ".join(part for part in (proven, taken) if part)
    return [
        str(row.turns),
        str(row.panels),
        str(row.angles),
        f"{overlap:.6f}"[:-3],
        str(row.panel_count_bound),
        remark,
    ]


def _written(turns: object) -> str:
    """Turns as a plan file writes them."""
    return f'"{turns}"' if isinstance(turns, str) else str(turns)


def _remarks(request: Request, rows: Sequence[TurnsRow]) -> Iterator[tuple[str, str]]:
    if any(row.taken_from is not None for row in rows):
        text = "a plan with fewer angles is allowed where more are, and stands where more turns found none as good"
        yield "Note", text
    if request.mosaic.position_angle_deg is not None:
        yield "Note", "the position_angle_deg of the plan file is let go here"
    if request.mosaic.layout != "free":
        yield "Note", f'layout = "{request.mosaic.layout}" keeps rows, so 2 and more angles save nothing'

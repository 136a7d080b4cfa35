"""`plan --how-many-angles`: how many panels each further camera angle within one mosaic saves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.exit_codes import DONE, FALLS_SHORT
from planner.words import overlap_words

from ._show import print_facts, print_json, print_line, print_table, progress_shown, say
from .plan_extras import Output

if TYPE_CHECKING:
    from planner.answers.how_many_angles import AnglesRow
    from planner.request.request import Request

__all__ = ["run"]

COLUMNS = ("Angles", ">Panels", ">Used", ">Overlap found", ">No plan can have fewer than", "~")


def run(request: Request, _value: bool, output: Output) -> int:
    """Plan the request with every number of camera angles, and answer with a table or how-many-angles.json.

    Exit code 1 means that a plan falls short of what was asked.
    """
    from planner.answers.how_many_angles import how_many_angles

    with progress_shown() as progress:
        rows = how_many_angles(request, effort=output.effort, progress=progress)
    _write(request, rows, output)
    _show(request, rows, output)
    for row in rows:
        if row.shortfalls:
            say(f"with angles = {_written(row.angles)} the plan falls short: {'; '.join(row.shortfalls)}")
    return FALLS_SHORT if any(row.shortfalls for row in rows) else DONE


def _write(request: Request, rows: Sequence[AnglesRow], output: Output) -> None:
    from planner.files.documents.how_many_angles import how_many_angles_document
    from planner.files.documents.json_text import json_bytes

    output.write({"how-many-angles.json": json_bytes(how_many_angles_document(request.title, rows))})


def _show(request: Request, rows: Sequence[AnglesRow], output: Output) -> None:
    if output.as_json:
        from planner.files.documents.how_many_angles import how_many_angles_document

        print_json(how_many_angles_document(request.title, rows))
        return
    print_table(COLUMNS, [_cells(row) for row in rows], title=request.title)
    print_line()
    print_facts(_remarks(request, rows))


def _cells(row: AnglesRow) -> list[str]:
    from planner.files.documents.how_many_angles import how_many_angles_document

    overlap = how_many_angles_document("", [row])["rows"][0]["overlap_found"]
    proven = "proven fewest" if row.panels == row.panel_count_bound else ""
    taken = f"the plan of angles = {_written(row.taken_from)}" if row.taken_from is not None else ""
    remark = "; ".join(part for part in (proven, taken) if part)
    return [
        str(row.angles),
        str(row.panels),
        str(row.angles_used),
        overlap_words(overlap),
        str(row.panel_count_bound),
        remark,
    ]


def _written(angles: object) -> str:
    """A number of angles as a plan file writes them."""
    return f'"{angles}"' if isinstance(angles, str) else str(angles)


def _remarks(request: Request, rows: Sequence[AnglesRow]) -> Iterator[tuple[str, str]]:
    if any(row.taken_from is not None for row in rows):
        text = "a plan with fewer angles is allowed where more are, and stands where more angles found none as good"
        yield "Note", text
    if request.mosaic.position_angle_deg is not None:
        yield "Note", "the position_angle_deg of the plan file is let go here"
    if request.mosaic.layout != "free":
        yield "Note", f'layout = "{request.mosaic.layout}" keeps rows, so 2 and more angles save nothing'

"""panels.csv and panels.ecsv: one row a panel, for spreadsheets and for programs that read tables.

Source: the ECSV format is Astropy Proposal for Enhancement 6 (APE6), version 1.0.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.files.documents.json_text import plain_number
from planner.files.documents.plan import plan_document
from planner.files.user_table.angle_form import AngleForm

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["panels_csv_bytes", "panels_ecsv_bytes"]

HOURS = AngleForm("hours", "sexagesimal", 4, ("h", "m", "s"), first_deg=0.0)
DEGREES = AngleForm("degrees", "sexagesimal", 3, ("d", "m", "s"), sign="always")
NOT_ASCII = re.compile(r"[^\x20-\x7e]")
CORNERS = ("se", "sw", "nw", "ne")
"""Corners of a panel as seen at position angle 0, in their order."""


@dataclass(frozen=True)
class Column:
    """One column: its name, type (as ECSV names types), unit, and what a panel of the document has in it."""

    name: str
    datatype: str
    unit: str
    about: str
    value: Callable[[Mapping[str, Any]], Any]


def _of(key: str) -> Callable[[Mapping[str, Any]], Any]:
    return lambda panel: panel[key]


def _corner(number: int, axis: int) -> Callable[[Mapping[str, Any]], float]:
    return lambda panel: float(panel["corners_deg"][number][axis])


FIRST = (
    Column("name", "string", "", "row letter and column number", _of("name")),
    Column("order", "int64", "", "place in the shooting order", _of("order")),
    Column("row", "int64", "", "from the top of the picture", _of("row")),
    Column("column", "int64", "", "from the left of the picture", _of("column")),
    Column("ra_deg", "float64", "deg", "centre, ICRS right ascension", _of("ra_deg")),
    Column("dec_deg", "float64", "deg", "centre, ICRS declination", _of("dec_deg")),
    Column("position_angle_deg", "float64", "deg", "of up, east of north", _of("position_angle_deg")),
    Column("ra_hms", "string", "", "right ascension", lambda panel: HOURS.write(panel["ra_deg"])[0]),
    Column("dec_dms", "string", "", "declination", lambda panel: DEGREES.write(panel["dec_deg"])[0]),
)
READING = Column(
    "reading_deg", "float64", "deg", "of the angle device", lambda panel: panel.get("reading_deg")
)
KEPT = Column("kept", "bool", "", "stays where it is", lambda panel: panel.get("kept", False))
LAST = (
    Column("stars_in_seams", "int64", "", "catalogue stars shared with neighbours", _of("stars_in_seams")),
    *(
        Column(
            f"{corner}_{axis}_deg",
            "float64",
            "deg",
            f"{corner.upper()} corner at position angle 0",
            _corner(number, index),
        )
        for number, corner in enumerate(CORNERS)
        for index, axis in enumerate(("ra", "dec"))
    ),
)


def panels_csv_bytes(plan: Plan) -> bytes:
    """Return the content of panels.csv: a header line, commas, CRLF (RFC 4180)."""
    return _body(plan_document(plan), line_end="\r\n").encode()


def panels_ecsv_bytes(plan: Plan, *, document: Mapping[str, Any] | None = None) -> bytes:
    """Return the content of panels.ecsv: the same table with types, units and column descriptions.

    Parameters
    ----------
    plan : Plan
    document : mapping, optional
        The plan's document, where it has been worked out already.
    """
    document = document or plan_document(plan)
    head = ["%ECSV 1.0", "---", "delimiter: ','", "datatype:"]
    head += [f"- {_yaml(_header(column))}" for column in _columns(document)]
    head += ["meta:", *(f"  {name}: {_yaml(value)}" for name, value in _meta(document).items())]
    lines = "".join(f"# {line}\n" for line in [*head, "schema: astropy-2.0"])
    return (lines + _body(document, line_end="\n")).encode()


def _columns(document: Mapping[str, Any]) -> Sequence[Column]:
    known = any("reading_deg" in panel for panel in document["panels"])
    kept = any("kept" in panel for panel in document["panels"])
    return (*FIRST, *((READING,) if known else ()), *((KEPT,) if kept else ()), *LAST)


def _body(document: Mapping[str, Any], *, line_end: str) -> str:
    columns = _columns(document)
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator=line_end)
    writer.writerow([column.name for column in columns])
    writer.writerows([_cell(column, panel) for column in columns] for panel in document["panels"])
    return stream.getvalue()


def _cell(column: Column, panel: Mapping[str, Any]) -> str:
    value = column.value(panel)
    if isinstance(value, float):
        return plain_number(value, exact=True)
    return "" if value is None else str(value)


def _header(column: Column) -> dict[str, str]:
    unit = {"unit": column.unit} if column.unit else {}
    return {"name": column.name, **unit, "datatype": column.datatype, "description": column.about}


def _meta(document: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "creator": "mosaic planner",
        "title": document["title"],
        "frame": document["frame"],
        "field_deg": document["camera"]["field_deg"],
        "overlap_found": document["overlap_found"],
    }


def _yaml(value: object) -> str:
    """Write a value as JSON, which is YAML too; what is not ASCII in YAML's own form."""
    text = json.dumps(value, ensure_ascii=False)
    return NOT_ASCII.sub(lambda sign: f"\\U{ord(sign[0]):08x}", text)

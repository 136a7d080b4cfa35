"""A list of centres and angles made elsewhere, read back: ECSV, VOTable, CSV, or our own plan.json.

Which of them a file is, its content says. ECSV and VOTable carry units. A CSV file is read as the plan's own
`[[tables]]` describes it, found by the file's name or else by its header; a CSV file that none describes
needs a header with known names (see `pointing_columns`), and degrees.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import FileError
from planner.files.described_table import has_header, read_described_table
from planner.files.plain_table import read_plain_table
from planner.files.pointings import Pointing, Pointings
from planner.files.unit_table import read_unit_table
from planner.files.user_table import UserTable, read_tables

if TYPE_CHECKING:
    from planner.request import Request

__all__ = ["read_pointings"]

LARGEST_BYTES = 200_000_000
FORMS = "ECSV, VOTable, CSV or plan.json"


def read_pointings(path: str | Path, request: Request) -> Pointings:
    """Read the pointings of a table.

    Parameters
    ----------
    path : str or Path
    request : Request
        Its `tables` describe CSV files, its angle device turns readings into position angles, and its pinned
        position angle serves where the table has no angles.

    Raises
    ------
    FileError
        If the file cannot be read or understood; the sentence names row and column.
    """
    path = Path(path)
    content = _content(path)
    start = content[:1000].removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith(b"# %ECSV"):
        return read_unit_table(content, "ascii.ecsv", path.name, request)
    if start.startswith((b"<?xml", b"<VOTABLE", b"<vot:")):
        return read_unit_table(content, "votable", path.name, request)
    if start.startswith(b"{"):
        return _read_plan_json(content, path.name)
    described = _description(path, content, read_tables(request.tables))
    if described is not None:
        return read_described_table(content, described, path.name, request)
    return read_plain_table(content, path.name, request)


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        fault = getattr(error, "strerror", None) or error
        raise FileError(f"cannot read {path}: {fault}; give a table as {FORMS}") from error
    if len(content) > LARGEST_BYTES:
        raise FileError(f"{path} is larger than {LARGEST_BYTES // 10**6} MB; give a table of pointings alone")
    return content


def _description(path: Path, content: bytes, tables: tuple[UserTable, ...]) -> UserTable | None:
    """Return the table description that has the file's name, or else the file's header."""
    named = [table for table in tables if table.file.casefold() == path.name.casefold()]
    fitting = [table for table in tables if table.header and has_header(content, table)]
    return next(iter(named + fitting), None)


def _read_plan_json(content: bytes, source: str) -> Pointings:
    try:
        panels = json.loads(content)["panels"]
        rows = [(f"panel {number}", _pointing(panel)) for number, panel in enumerate(panels, start=1)]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise FileError(f"{source} is no plan.json; give a table as {FORMS}") from error
    return Pointings.from_rows(rows, source)


def _pointing(panel: dict[str, Any]) -> Pointing:
    ra_deg, dec_deg, angle_deg = (float(panel[key]) for key in ("ra_deg", "dec_deg", "position_angle_deg"))
    return Pointing(str(panel["name"]), ra_deg, dec_deg, angle_deg)

"""A list of centres and angles made elsewhere, read back: ECSV, VOTable, CSV, or our own plan.json.

Which of them a file is, its content says. ECSV and VOTable carry units. A CSV file is read as the plan's own
`[[tables]]` describes it, found by the file's name or else by its header; a CSV file that none describes
needs a header with known names (see `pointing_columns`), and degrees.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from planner.errors import FileError
from planner.files.user_table.table import UserTable, read_tables
from planner.request.panels import PanelRequest
from planner.request.request import MOST_ANGLES

from .described_table import has_header, read_described_table
from .plain_table import read_plain_table
from .pointings import Pointing, Pointings
from .unit_table import read_unit_table

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["read_pointings", "request_from_table"]

LONGEST_NAME = 100
UNPRINTABLE = re.compile(r"[^\S ]+|[\x00-\x1f\x7f-\x9f\u2028\u2029]+")
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


def request_from_table(path: str | Path, request: Request) -> Request:
    """Return the request with its panels listed: those of a table, in its order, and nothing to search.

    The panels keep the table's names where every one has a name of its own.

    Raises
    ------
    FileError
        If the file cannot be read or understood.
    """
    pointings = read_pointings(path, request)
    named = zip(_names(pointings), pointings.sky_deg, strict=True)
    mosaic = replace(
        request.mosaic,
        columns=None,
        rows=None,
        position_angle_range_deg=None,
        angles=_angles(pointings, request),
    )
    panels = tuple(PanelRequest(name, *sky) for name, sky in named)
    return replace(request, panels=panels, settled=None, mosaic=mosaic)


def _names(pointings: Pointings) -> Sequence[str]:
    """Names of the table where all differ, else A1, A2 and so on."""
    names = [UNPRINTABLE.sub(" ", name).strip()[:LONGEST_NAME] for name in pointings.names]
    if all(names) and len(set(names)) == len(names):
        return names
    return [f"A{number}" for number in range(1, len(names) + 1)]


def _angles(pointings: Pointings, request: Request) -> int | Literal["per_panel"]:
    """How many camera angles there are: each different one of the panels' rectangles."""
    period_deg = request.camera.field.period_deg
    angles = {round(sky[2] % period_deg, 6) % period_deg for sky in pointings.sky_deg}
    return len(angles) if len(angles) <= MOST_ANGLES else "per_panel"


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
    except json.JSONDecodeError as error:
        raise FileError(
            f"{source} is cut off or no JSON; write it anew with `plan PLAN --out FOLDER`"
        ) from error
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise FileError(f"{source} is no plan.json; give a table as {FORMS}") from error
    return Pointings.from_rows(rows, source)


def _pointing(panel: dict[str, Any]) -> Pointing:
    ra_deg, dec_deg, angle_deg = (float(panel[key]) for key in ("ra_deg", "dec_deg", "position_angle_deg"))
    order = panel.get("order")
    return Pointing(
        str(panel["name"]), ra_deg, dec_deg, angle_deg, float(order) if isinstance(order, int) else None
    )

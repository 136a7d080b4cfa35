"""A request as the text of a plan file: the file that it came from, or a new one with its values."""

from __future__ import annotations

import datetime as dt
import os
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path
from typing import Any

from planner.files.text_file import read_text
from planner.request.request import Request

from .write import new_plan_text, update_document

__all__ = ["document_of_request", "moved_names", "request_text", "seen_from"]

KEYS = {"sites": "site"}
"""Tables whose values have another name in a request."""
FILES = ("earlier_picture", "outline_file")
LEFT_OUT = ("path", "setup_path", "shares")


def request_text(request: Request, folder: Path) -> str:
    """Return the text of a plan file that says what a request says.

    A request that came from a file gives that file's text, comments and order kept, the names of other files as
    seen from the new folder.

    Parameters
    ----------
    request : Request
    folder : Path
        Where the file will stand.
    """
    if request.path is None:
        return new_plan_text(document_of_request(request, folder))
    return update_document(read_text(request.path, "plan file"), moved_names(request, folder))


def moved_names(request: Request, folder: Path) -> dict[str, Any]:
    """Names of the files that a plan file names, as seen from another folder: a change of its text."""
    changes: dict[str, Any] = {}
    if request.setup_path is not None:
        changes["setup"] = seen_from(folder, request.setup_path)
    region = {key: getattr(request.region, key) for key in FILES}
    moved = {key: seen_from(folder, path) for key, path in region.items() if path is not None}
    return {**changes, **({"region": moved} if moved else {})}


def document_of_request(request: Request, folder: Path) -> dict[str, Any]:
    """Return the tables of a plan file that say what a request says, keys at their defaults left out.

    The inverse of `request_from_document`.

    >>> from planner.files.plan_file.read import request_from_document
    >>> tables = {"camera": {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9},
    ...           "region": {"center": [128.5, -45.8], "radius_deg": 2.0}}
    >>> request = request_from_document({"title": "Shell", **tables})
    >>> document_of_request(request, Path()) == {"title": "Shell", **tables}
    True
    """
    return {
        KEYS.get(name, name): value for name, value in _table(request, folder).items() if name not in LEFT_OUT
    }


def _table(value: Any, folder: Path) -> dict[str, Any]:
    given = {one.name: (getattr(value, one.name), one.default) for one in fields(value)}
    if given.get("outline_file", (None, None))[0] is not None:
        given.pop("outline")
    return {
        name: _plain(part, folder)
        for name, (part, usual) in given.items()
        if usual is MISSING or part not in (usual, ())
    }


def _plain(value: Any, folder: Path) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return _table(value, folder)
    if isinstance(value, Path):
        return seen_from(folder, value)
    if isinstance(value, list | tuple):
        return [_plain(part, folder) for part in value]
    if isinstance(value, dict):
        return {name: _plain(part, folder) for name, part in value.items()}
    return value if isinstance(value, str | bool | int | float | dt.date) else str(value)


def seen_from(folder: Path, path: Path) -> str:
    """Return the name of a file relative to a folder; whole where they stand on different drives."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return path.resolve().as_posix()

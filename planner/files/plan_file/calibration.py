"""A calibration stored in the file that the angle device stands in, comments and order kept."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.files.text_file import parse_toml, read_text
from planner.rig.angle_device import AngleDevice

from .write import update_file

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["save_calibration"]

DECIMALS = 4
"""Of a degree: a third of an arc second, far below what a scale shows."""


def save_calibration(
    request: Request, device: AngleDevice, *, focal_length_mm: float | None = None
) -> tuple[str, ...]:
    """Store zero and sense, and a focal length if one is given.

    Each goes into the file whose table counts: the plan file where it has that table, else its setup file.

    Parameters
    ----------
    request : Request
        As read from a plan file.
    device : AngleDevice
        Calibrated.
    focal_length_mm : float, optional

    Returns
    -------
    tuple of str
        What was changed, previous values included.

    Raises
    ------
    InputError
        If the request has no file, or the file cannot be read or written.
    """
    wanted: dict[str, dict[str, Any]] = {
        "angle_device": {"zero_deg": round(device.zero_deg, DECIMALS) % 360.0, "sense": device.sense}
    }
    if focal_length_mm is not None:
        wanted["camera"] = {"focal_length_mm": round(focal_length_mm, 3)}
    changes: dict[Path, dict[str, dict[str, Any]]] = {}
    lines: list[str] = []
    for table, values in wanted.items():
        path, old = _home(request, table)
        new = values if table == "camera" or "kind" in old else {"kind": device.kind, **values}
        changes.setdefault(path, {})[table] = new
        lines += [_change_words(path, table, key, old.get(key), value) for key, value in new.items()]
    for path, change in changes.items():
        update_file(path, change)
    return tuple(lines)


def _home(request: Request, table: str) -> tuple[Path, Mapping[str, Any]]:
    """Return the file in which a table counts, and the table as it stands there."""
    paths = [path for path in (request.path, request.setup_path) if path is not None]
    if not paths:
        raise InputError("a calibration is stored in a plan file; save the plan first")
    for path in paths:
        found = parse_toml(read_text(path, "file to change"), path, "file to change").get(table)
        if isinstance(found, Mapping):
            return path, found
    return paths[-1], {}


def _change_words(path: Path, table: str, key: str, old: object, new: object) -> str:
    before = "was not set" if old is None else f"was {old}"
    return f"Saved in {path.name}: {table}.{key} = {new} ({before})."

"""Plan files of targets, ready for a season; and the plan files that a folder has already."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import FileError
from planner.files.text_file import parse_toml, read_text
from planner.request.request import Request

from .read import read_plan_file
from .request_text import seen_from
from .write import new_plan_text

if TYPE_CHECKING:
    from planner.answers.targets.target import Target, TargetList

__all__ = ["plans_in", "target_plan_texts"]

OVERLAP = 0.15


def target_plan_texts(found: TargetList, most: int, folder: Path) -> dict[str, str]:
    """Return plan files of the first targets of a list, by name of the file.

    Each names its nebula, or a group's nebulae, the setup file and the season; the camera angle is left open.

    Parameters
    ----------
    found : TargetList
        Of a setup that came from a file.
    most : int
        So many at most.
    folder : Path
        Where the files will stand.

    Raises
    ------
    FileError
        If the setup did not come from a file.
    """
    if found.setup.path is None:
        raise FileError("plan files of targets name their setup file, but this setup has none; save it first")
    setup = seen_from(folder, found.setup.path)
    texts: dict[str, str] = {}
    for target in found.targets[:most]:
        texts[_file_name(target.name, texts)] = new_plan_text(_document(found, target, setup))
    return texts


def _document(found: TargetList, target: Target, setup: str) -> dict[str, Any]:
    region: dict[str, Any] = {"objects": list(target.parts)} if target.parts else {"object": target.name}
    document: dict[str, Any] = {"title": target.name, "setup": setup, "region": region}
    if found.setup.mosaic is None:
        document["mosaic"] = {"overlap": OVERLAP}
    nights = found.nights
    document["nights"] = {
        "first": nights.first,
        "last": nights.last,
        "darkness": nights.darkness,
        "clear_fraction": nights.clear_fraction,
        "overhead_per_panel_min": nights.overhead_per_panel_min,
        "overhead_per_exposure_s": nights.overhead_per_exposure_s,
        "least_block_min": nights.least_block_min,
    }
    return document


def _file_name(name: str, taken: dict[str, str]) -> str:
    """Return a name of a file of letters, digits and underscores that is not taken."""
    plain = "".join(sign if sign.isalnum() and sign.isascii() else "_" for sign in name.lower())
    stem = "_".join(part for part in plain.split("_") if part) or "target"
    number = 1
    while f"{stem}{'' if number == 1 else f'_{number}'}.toml" in taken:
        number += 1
    return f"{stem}{'' if number == 1 else f'_{number}'}.toml"


def plans_in(folder: Path) -> list[Request]:
    """Return the plan files of a folder, in the order of their names; setup and season files are passed over.

    Raises
    ------
    FileError
        If the folder cannot be read, has no plan file, or one of them has faults.
    """
    if not folder.is_dir():
        raise FileError(f"{folder} is no folder; give one that holds plan files")
    found = [read_plan_file(path) for path in sorted(folder.glob("*.toml")) if _is_plan(path)]
    if not found:
        raise FileError(f"{folder} has no plan file (a TOML file with [region]); give another folder")
    return found


def _is_plan(path: Path) -> bool:
    return "region" in parse_toml(read_text(path, "plan file"), path, "plan file")

"""Plan files of targets, ready for a season; and the plan files that a folder has already."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import FileError
from planner.files.text_file import parse_toml, read_text
from planner.night.settings import Nights
from planner.request.request import Request

from .request_text import seen_from
from .shared import one_request_from_text
from .write import new_plan_text

if TYPE_CHECKING:
    from planner.answers.targets.target import Target, TargetList

__all__ = ["plans_in", "target_plan_texts"]

OVERLAP = 0.15
UNTOLD = """\
# The setup file has no [nights], so nothing is known here of clouds and of time that is lost. Add, for example:
# clear_fraction = 0.7
# overhead_per_panel_min = 6
# overhead_per_exposure_s = 8
"""
"""What stands below the season where the setup file tells only of the site."""


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
        text = new_plan_text(_document(found, target, setup))
        texts[_file_name(target.name, texts)] = text if found.setup.nights else text + UNTOLD
    return texts


def _document(found: TargetList, target: Target, setup: str) -> dict[str, Any]:
    region: dict[str, Any] = {"objects": list(target.parts)} if target.parts else {"object": target.name}
    document: dict[str, Any] = {"title": target.name, "setup": setup, "region": region}
    if found.setup.mosaic is None:
        document["mosaic"] = {"overlap": OVERLAP}
    usual = Nights(found.nights.first, found.nights.last)
    document["nights"] = {
        one.name: getattr(found.nights, one.name)
        for one in fields(Nights)
        if one.name in ("first", "last") or getattr(found.nights, one.name) != getattr(usual, one.name)
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

    Of a file that several instruments share the finest one's request is returned: the region is that of all.

    Raises
    ------
    FileError
        If the folder cannot be read, has no plan file, or one of them has faults.
    """
    if not folder.is_dir():
        what = "is no folder" if folder.exists() else "does not exist"
        raise FileError(f"{folder} {what}; give a folder that holds plan files")
    paths = [path for path in sorted(folder.glob("*.toml")) if _is_plan(path)]
    found = [one_request_from_text(read_text(path, "plan file"), path=path) for path in paths]
    if not found:
        raise FileError(f"{folder} has no plan file (a TOML file with [region]); give another folder")
    return found


def _is_plan(path: Path) -> bool:
    return "region" in parse_toml(read_text(path, "plan file"), path, "plan file")

"""A file that a plan or season file names, but that is not there."""

from __future__ import annotations

import os
from pathlib import Path

from planner.errors import nearest_names

from .faults import Faults

__all__ = ["refuse_missing"]


def refuse_missing(key: str, name: str, file: Path, faults: Faults) -> None:
    """Note a fault where a file that a key names does not exist; says which one near it has a like name.

    Parameters
    ----------
    key : str
        Key that names it.
    name : str
        As the file has it.
    file : Path
        Where it should be.
    faults : Faults
    """
    if os.path.exists(file):
        return
    try:
        names = sorted(one.name for one in file.parent.glob("*.toml") if one != faults.path)
    except (OSError, ValueError):  # a folder that no disk can have
        names = []
    cure = nearest_names(file.name, names, count=1) or "; correct the name"
    faults.add(key, f"names {name!r}, but {str(file)[:200]} does not exist{cure}")

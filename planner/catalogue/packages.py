"""Where the data files lie that installed packages ship; nothing of those packages is imported."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from planner.errors import FileError

__all__ = ["shipped_file"]


def shipped_file(package: str, *parts: str) -> Path:
    """Path of a file inside an installed package.

    Parameters
    ----------
    package : str
        Import name, such as ``pyongc``.
    *parts : str
        Folders and file name inside the package.

    Raises
    ------
    FileError
        If the package or the file is not there.
    """
    spec = find_spec(package)
    for folder in (spec.submodule_search_locations or ()) if spec else ():
        path = Path(folder).joinpath(*parts)
        if path.is_file():
            return path
    raise FileError(
        f"the catalogue file {'/'.join((package, *parts))} is not installed; "
        "run `pip install -r requirements.txt` again"
    )

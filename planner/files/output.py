"""Files written out: whole or not at all, and never over a file that is not ours.

A file counts as ours when its content carries the mark of the writer of its kind (see `MARKS`); anything else
with the same name is in the way.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from planner.errors import FileError

__all__ = ["MARKS", "PROGRAM", "Content", "is_ours", "remove_stale", "write_files", "write_paths"]

PROGRAM = "mosaic planner"
"""Name of the program in what it writes."""
Content = bytes | Iterable[bytes]
"""Of a file: bytes, or pieces of bytes for a long one."""

MARKS: dict[str, tuple[bytes, ...]] = {
    ".json": (
        b'"schema": "mosaic-plan 1"',
        b'"schema": "shared-plan 1"',
        b'"schema": "shared-nights 1"',
        b'"schema": "shared-progress 1"',
        b'"schema": "shared-camera-angle 1"',
        b'"schema": "season 1"',
        b'"schema": "fit 1"',
        b'"schema": "fit-around 1"',
        b'"schema": "targets 1"',
        b'"schema": "compare 1"',
        b'"schema": "camera-angle 1"',
        b'"schema": "nights 1"',
        b'"schema": "handover 1"',
        b'"schema": "review 1"',
        b'"schema": "rehearsal 1"',
        b'"schema": "progress 1"',
        b'"schema": "which-angle 1"',
        b'"schema": "how-many-angles 1"',
    ),
    ".jsonl": (b'"index": "frames-read 1"',),
    ".csv": (
        b"name,order,row,column,ra_deg,dec_deg,position_angle_deg",
        b"name,common_name,kind,parts,ra_deg,dec_deg,margin_arcmin",
    ),
    ".ecsv": (b"mosaic planner",),
    ".png": (b"mosaic planner",),
    ".pdf": (b"mosaic planner",),
    ".ics": (b"mosaic planner",),
    ".txt": (b"mosaic planner",),
    ".toml": (b"mosaic planner",),
    ".fits": (b"mosaic planner",),
    ".xml": (b"mosaic planner",),
    ".vot": (b"mosaic planner",),
    ".hdr": (b"mosaic planner",),
    ".zip": (b"mosaic planner",),
}
"""What the first 64 KiB (or the last 4 KiB) of our own files contain, by suffix."""


def is_ours(path: Path) -> bool:
    """Whether an existing file carries our mark, so that it may be replaced."""
    if not path.is_file() or path.is_symlink():
        return False
    try:
        with path.open("rb") as stream:
            content = stream.read(65536)
            stream.seek(max(0, path.stat().st_size - 4096))
            content += stream.read()
    except OSError:
        return False
    return any(mark in content for mark in MARKS.get(path.suffix.lower(), ()))


def write_files(
    folder: Path, contents: Mapping[str, Content], may_replace: Callable[[Path], bool] = is_ours
) -> list[str]:
    """Write files into a folder, made if need be: all of them whole, or none.

    Parameters
    ----------
    folder : Path
    contents : mapping
        File names (relative, may name subfolders) to bytes, or to pieces of bytes for long files.
    may_replace : callable
        Whether an existing file may be replaced; by default if it carries our mark.

    Returns
    -------
    list of str
        Names of files of ours from an earlier run that were replaced: say so to the user.

    Raises
    ------
    FileError
        If the folder cannot be written or another file is in the way; nothing has been changed then.
    """
    names = {folder / name: name for name in contents}
    paths = {path: contents[name] for path, name in names.items()}
    return [names[path] for path in write_paths(paths, may_replace)]


def write_paths(
    contents: Mapping[Path, Content], may_replace: Callable[[Path], bool] = is_ours
) -> list[Path]:
    """Write files wherever they belong: all of them whole, or none; returns those replaced.

    Raises
    ------
    FileError
        As `write_files` does.
    """
    replaced = [path for path in contents if path.exists() or path.is_symlink()]
    for path in replaced:
        if not may_replace(path):
            raise FileError(
                f"{path} is in the way and was not written by this planner; move it or choose another folder"
            )
    aside: dict[Path, Path] = {}
    target = Path()
    try:
        for target, content in contents.items():
            target.parent.mkdir(parents=True, exist_ok=True)
            aside[target] = _write_aside(target, content)
        for target, temporary in aside.items():
            os.replace(temporary, target)
    except OSError as error:
        raise FileError(
            f"cannot write to {target.parent}: {error.strerror or error}; choose a folder that can be written"
        ) from error
    finally:
        for temporary in aside.values():
            temporary.unlink(missing_ok=True)
    return replaced


def remove_stale(paths: Iterable[Path]) -> list[Path]:
    """Remove files of ours that an earlier run wrote and this one does not; returns those removed, to be told.

    Raises
    ------
    FileError
        If one cannot be removed.
    """
    removed = [path for path in paths if is_ours(path)]
    for path in removed:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise FileError(
                f"cannot remove {path}, which is of an earlier run: {error.strerror or error}; remove it"
            ) from error
    return removed


def _write_aside(target: Path, content: Content) -> Path:
    handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.writelines([content] if isinstance(content, bytes) else content)
        temporary.chmod(0o666 & ~_umask())
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _umask() -> int:
    value = os.umask(0)
    os.umask(value)
    return value

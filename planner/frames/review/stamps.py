"""What tells that a file is still the one that was read: size and times, of all frames of a folder at once."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from planner.frames.solve.solution_cards import SOLUTION_SUFFIX, solution_path

from .folder import check_folder, is_frame_name

__all__ = ["FolderStamps", "Stamp", "beside_ns", "folder_stamps", "stamp_of"]


class Stamp(NamedTuple):
    """A file is the one that was read as long as these are the same; they are never put in order.

    Parameters
    ----------
    size : int
        Bytes.
    modified_ns : int
        Time of the last change by the clock of the file's own machine, nanoseconds.
    beside_ns : int
        The same of the solution file beside the frame; 0 without one.
    """

    size: int
    modified_ns: int
    beside_ns: int


@dataclass
class FolderStamps:
    """The frames in a folder and below it.

    Parameters
    ----------
    stamps : dict of str to Stamp
        By the file's name relative to the folder, with forward slashes; in the order of `frame_files`.
    unread : dict of str to str
        Subfolders that could not be read, with a sentence each.
    """

    stamps: dict[str, Stamp] = field(default_factory=dict)
    unread: dict[str, str] = field(default_factory=dict)


def folder_stamps(folder: Path) -> FolderStamps:
    """Look at all frames in a folder and below it, without opening any.

    Files that vanish meanwhile are left out. Links are followed, each folder is entered once.

    Raises
    ------
    FileError
        If the folder itself is missing or cannot be read.
    """
    found = FolderStamps()
    _walk(str(check_folder(folder)), "", found, set())
    return found


def stamp_of(path: Path) -> Stamp | None:
    """Return the stamp of one frame; None where it cannot be looked at."""
    try:
        facts = path.stat()
    except OSError:
        return None
    return Stamp(facts.st_size, facts.st_mtime_ns, beside_ns(path))


def beside_ns(frame: Path) -> int:
    """Time of the solution file beside a frame, nanoseconds; 0 without one."""
    try:
        return solution_path(frame).stat().st_mtime_ns
    except OSError:
        return 0


def _walk(place: str, prefix: str, found: FolderStamps, entered: set[tuple[int, int]]) -> None:
    try:
        facts = os.stat(place)
        if (facts.st_dev, facts.st_ino) in entered:
            return
        entered.add((facts.st_dev, facts.st_ino))
        frames, folders, beside = _entries(place)
    except OSError as error:
        found.unread[prefix.rstrip("/")] = f"{place} cannot be read ({error.strerror})"
        return
    for name in sorted(frames):
        size, modified_ns = frames[name]
        found.stamps[prefix + name] = Stamp(size, modified_ns, beside.get(name, 0))
    for name in sorted(folders):
        _walk(os.path.join(place, name), f"{prefix}{name}/", found, entered)


def _entries(place: str) -> tuple[dict[str, tuple[int, int]], list[str], dict[str, int]]:
    """Frames with size and time, folders, and times of solution files by the name of their frame."""
    frames: dict[str, tuple[int, int]] = {}
    folders: list[str] = []
    beside: dict[str, int] = {}
    with os.scandir(place) as entries:
        for entry in entries:
            name = entry.name
            if entry.is_dir():
                folders.append(name)
            elif is_frame_name(name):
                facts = _facts(entry)
                if facts is not None and stat.S_ISREG(facts.st_mode):
                    frames[name] = facts.st_size, facts.st_mtime_ns
            elif name.endswith(SOLUTION_SUFFIX):
                facts = _facts(entry)
                if facts is not None:
                    beside[name.removesuffix(SOLUTION_SUFFIX)] = facts.st_mtime_ns
    return frames, folders, beside


def _facts(entry: os.DirEntry[str]) -> os.stat_result | None:
    try:
        return entry.stat()
    except OSError:
        return None

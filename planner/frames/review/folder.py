"""The frames in a folder, one after the other: a million take no more memory than one folder's names."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

from planner.errors import FileError
from planner.frames.solve.solution_cards import SOLUTION_SUFFIX

__all__ = ["check_folder", "count_frames", "frame_files", "is_frame_name", "no_frame_words"]

IMAGE_SUFFIXES = (".fits", ".fit", ".fts")
PACKED_SUFFIXES = tuple(suffix + packed for suffix in IMAGE_SUFFIXES for packed in (".gz", ".fz"))
SUFFIXES = (*IMAGE_SUFFIXES, *PACKED_SUFFIXES, ".fz")


def is_frame_name(name: str) -> bool:
    """Whether a file of this name is taken for a frame; hidden files and our own solutions are not.

    >>> [is_frame_name(name) for name in ("a.FIT", "b.fits.gz", "c.fz", "d.txt.gz", "e.fits.solution.fits")]
    [True, True, True, False, False]
    """
    lower = name.lower()
    return lower.endswith(SUFFIXES) and not lower.startswith(".") and not lower.endswith(SOLUTION_SUFFIX)


def frame_files(folder: Path, tell: Callable[[str], None] = lambda text: None) -> Iterator[Path]:
    """Frames in a folder and all folders below it, by name; links are followed, each folder is entered once.

    Parameters
    ----------
    folder : Path
    tell : callable
        Told one sentence for each subfolder that cannot be read.

    Raises
    ------
    FileError
        If the folder itself is missing or cannot be read.
    """
    for place, names in _walk(check_folder(folder), tell, set()):
        for name in names:
            yield place / name


def count_frames(folder: Path) -> int:
    """Count what `frame_files` finds, by names alone."""
    return sum(len(names) for _, names in _walk(check_folder(folder), lambda text: None, set()))


def no_frame_words(folder: Path) -> str | None:
    """Say that none of the files in a folder and below it is a frame; None where one is, or no file is there."""
    if count_frames(folder):
        return None
    count = sum(len(names) for _, _, names in os.walk(folder))
    if not count:
        return None
    names = f"names of frames end in {', '.join(IMAGE_SUFFIXES)}"
    if count == 1:
        return f"the one file in {folder} is no frame: {names}"
    return f"none of the {count:,} files in {folder} is a frame: {names}"


def check_folder(folder: Path) -> Path:
    """Return a folder that is there and can be read.

    Raises
    ------
    FileError
        If it is not.
    """
    try:
        found = folder.exists()
    except OSError as error:
        raise FileError(f"{str(folder)[:200]}: {error.strerror}; check the folder's name") from error
    if not found:
        raise FileError(f"{folder}: there is no such folder; check the name")
    if not folder.is_dir():
        raise FileError(f"{folder} is a file, wanted the folder with the frames; name its folder")
    _names(folder)
    return folder


def _walk(
    folder: Path, tell: Callable[[str], None], entered: set[tuple[int, int]]
) -> Iterator[tuple[Path, list[str]]]:
    """Yield folders with the names of their frames."""
    try:
        place = folder.stat()
        if (place.st_dev, place.st_ino) in entered:
            return
        entered.add((place.st_dev, place.st_ino))
        files, folders = _names(folder)
    except (OSError, FileError) as error:
        tell(str(error) if isinstance(error, FileError) else f"{folder} cannot be read ({error.strerror})")
        return
    yield folder, files
    for name in folders:
        yield from _walk(folder / name, tell, entered)


def _names(folder: Path) -> tuple[list[str], list[str]]:
    """Sorted names of the frames and of the folders in a folder."""
    files, folders = [], []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.is_dir():
                    folders.append(entry.name)
                elif is_frame_name(entry.name) and (entry.is_file() or entry.is_symlink()):
                    files.append(entry.name)
    except OSError as error:
        raise FileError(f"{folder} cannot be read ({error.strerror}); check its permissions") from error
    return sorted(files), sorted(folders)

"""The folder of a rehearsal: its frames and texts, all of them or none, and never among other files.

Frames are written aside first, under names that nothing takes for frames, and brought to their places when the
last one is there. An earlier rehearsal stays whole until then.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from planner.errors import FileError
from planner.files.documents.json_text import json_bytes
from planner.files.documents.rehearsal import rehearsal_document
from planner.files.output import is_ours
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.made_up import is_made_up
from planner.frames.solve.solution_cards import SOLUTION_SUFFIX
from planner.progress import Progress

from .frame_file import FrameWriter
from .names import AnyRehearsal, names_of_parts
from .story import rehearsal_text

__all__ = ["check_rehearsal_folder", "write_rehearsal"]

ASIDE = ".rehearsal-part"
"""Folder inside a rehearsal's for files that are being written."""
JSON_NAME, TEXT_NAME = "rehearsal.json", "rehearsal.txt"
ROOM_TO_SPARE = 2_000_000


def check_rehearsal_folder(folder: Path) -> int:
    """Refuse a folder that holds anything but an earlier rehearsal.

    Returns
    -------
    int
        How many made-up frames it holds: they would be replaced.

    Raises
    ------
    FileError
        If it is a file, cannot be read, or holds a file that no rehearsal wrote.
    """
    try:
        if not folder.exists():
            return 0
    except OSError as error:
        raise FileError(f"{str(folder)[:200]}: {error.strerror}; check the folder's name") from error
    if not folder.is_dir():
        raise FileError(f"{folder} is a file, wanted a folder for the made-up frames; choose another name")
    return sum(path.suffix == ".fits" and not _is_solution(path) for path in _earlier_files(folder))


def _earlier_files(folder: Path) -> list[Path]:
    """Files of an earlier rehearsal, all that there are."""
    found = list(_files_below(folder))
    for path in found:
        if not _is_of_a_rehearsal(path, folder):
            raise FileError(
                f"{folder} holds {path.relative_to(folder)}, which no rehearsal wrote; "
                "choose an empty or a new folder for made-up frames"
            )
    return found


def _files_below(folder: Path) -> Iterator[Path]:
    """Every file in a folder and below it, but for what was being written when an earlier run was ended."""
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        raise FileError(f"{folder} cannot be read ({error.strerror}); choose another folder") from error
    for path in entries:
        if path.is_dir() and not path.is_symlink():
            if path.name != ASIDE:
                yield from _files_below(path)
        else:
            yield path


def _is_solution(path: Path) -> bool:
    return path.name.endswith(SOLUTION_SUFFIX)


def _is_of_a_rehearsal(path: Path, folder: Path) -> bool:
    if path.is_symlink():
        return False
    if path.suffix != ".fits" or _is_solution(path):
        texts = path.parent == folder and path.name in (JSON_NAME, TEXT_NAME)
        return (texts or _is_solution(path)) and is_ours(path)
    try:
        return is_made_up(read_image_header(path))
    except FileError:
        return False


def write_rehearsal(folder: Path, rehearsal: AnyRehearsal, *, progress: Progress | None = None) -> int:
    """Write all frames of a rehearsal, rehearsal.json and rehearsal.txt.

    Parameters
    ----------
    folder : Path
        Made if need be; an earlier rehearsal in it is replaced.
    rehearsal : Rehearsal or SharedRehearsal
        Of one instrument, or of those that share a mosaic: their frames stand in the same folders.
    progress : callable, optional

    Returns
    -------
    int
        Made-up frames of an earlier rehearsal that were replaced: say so to the user.

    Raises
    ------
    FileError
        If the folder holds other files, cannot be written, or the disk has no room; nothing has been changed
        then.
    """
    replaced = check_rehearsal_folder(folder)
    made = [place for place in (folder, *folder.parents) if not place.exists()]
    aside = folder / ASIDE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _check_room(folder, rehearsal)
        shutil.rmtree(aside, ignore_errors=True)
        aside.mkdir()
        parts = _write_aside(aside, rehearsal, progress)
        _remove_earlier(folder)
        for name, part in parts.items():
            (folder / name).parent.mkdir(exist_ok=True)
            os.replace(part, folder / name)
        made = []
    except OSError as error:
        raise FileError(
            f"cannot write to {folder}: {error.strerror or error}; choose a folder with room that can be written"
        ) from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
        for place in made:
            if place.is_dir() and not any(place.iterdir()):
                place.rmdir()
    return replaced


def _check_room(folder: Path, rehearsal: AnyRehearsal) -> None:
    """Refuse a disk with too little room before anything is drawn."""
    drawn = sum(one.frames_bytes for _, one in rehearsal.named)
    free, needed = shutil.disk_usage(folder).free, drawn + ROOM_TO_SPARE
    if free < needed:
        raise FileError(
            f"{folder} has room for {free / 1e6:.0f} MB, the frames need {needed / 1e6:.0f} MB; "
            "make room, choose another folder or rehearse fewer nights"
        )


def _write_aside(aside: Path, rehearsal: AnyRehearsal, progress: Progress | None) -> dict[str, Path]:
    """Write everything under other names; return the parts by the names that they will have."""
    parts, names = [one for _, one in rehearsal.named], names_of_parts(rehearsal)
    files: dict[str, Path] = {}
    drawn, total = 0, sum(frame.came_back for one in parts for frame in one.frames)
    for one, own in zip(parts, names, strict=True):
        writer = FrameWriter(one)
        for number, (frame, name) in enumerate(zip(one.frames, own, strict=True)):
            if not frame.came_back:
                continue
            if progress:
                progress(f"drawing frames, {drawn} of {total} drawn", drawn / total)
            files[name] = aside / f"{drawn}.part"
            files[name].write_bytes(writer.content(frame, number))
            drawn += 1
    text, document = rehearsal_text(rehearsal, names), rehearsal_document(rehearsal, names)
    for name, content in {TEXT_NAME: text.encode(), JSON_NAME: json_bytes(document)}.items():
        files[name] = aside / f"{name}.part"
        files[name].write_bytes(content)
    return files


def _remove_earlier(folder: Path) -> None:
    """Take an earlier rehearsal away, and the folders of its evenings."""
    for path in _earlier_files(folder):
        path.unlink()
        if path.parent != folder and not any(path.parent.iterdir()):
            path.parent.rmdir()

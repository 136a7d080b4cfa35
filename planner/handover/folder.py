"""A hand-over put on disk: into a folder or into one zip file, never over anything unasked."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from planner.errors import FileError
from planner.files.output import is_ours, write_files

from .index import HandoverFile, listed_in_index

__all__ = ["handover_zip", "refuse_overwriting", "write_handover"]

FIRST_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
"""The same for all, so that the same plan gives the same bytes."""
READABLE = 0o644 << 16

CURE = "have the earlier hand-over replaced"


def handover_zip(files: Sequence[HandoverFile]) -> bytes:
    """Return one zip file that holds all files."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        archive.comment = b"mosaic planner"
        for file in files:
            entry = zipfile.ZipInfo(file.path, FIRST_ZIP_DATE)
            entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, READABLE
            archive.writestr(entry, file.content)
    return stream.getvalue()


def refuse_overwriting(folder: Path, names: Sequence[str], *, replace: bool, cure: str = CURE) -> None:
    """Refuse to write over anything unless that was asked for.

    Parameters
    ----------
    folder : Path
    names : sequence of str
    replace : bool
    cure : str
        How a face lets an earlier hand-over be replaced.

    Raises
    ------
    FileError
        If one of these files exists.
    """
    there = [name for name in names if (folder / name).exists() or (folder / name).is_symlink()]
    if there and not replace:
        more = f" and {len(there) - 1} more are" if len(there) > 1 else " is"
        raise FileError(f"{folder / there[0]}{more} there already; {cure}, or choose another folder")


def write_handover(
    folder: Path, contents: Mapping[str, bytes], *, replace: bool, whole: bool, cure: str = CURE
) -> tuple[list[str], list[str]]:
    """Write a hand-over into a folder: all files whole, or none.

    A file may be replaced if it carries our mark, or if the index of an earlier hand-over lists it and it has
    not been changed since.

    Parameters
    ----------
    folder : Path
    contents : mapping
        Paths relative to the folder to bytes.
    replace : bool
        Whether files of an earlier hand-over may be replaced.
    whole : bool
        Whether this is a whole hand-over, so that what an earlier one left and this one lacks is removed.
    cure : str
        As in `refuse_overwriting`.

    Returns
    -------
    replaced, removed : lists of str

    Raises
    ------
    FileError
        If something is in the way; nothing has been changed then.
    """
    refuse_overwriting(folder, list(contents), replace=replace, cure=cure)
    earlier = {folder / path: checksum for path, checksum in listed_in_index(folder).items()}

    def may_go(path: Path) -> bool:
        return is_ours(path) or _is_unchanged(path, earlier.get(path))

    replaced = write_files(folder, contents, may_go)
    left = [path for path in earlier if str(path.relative_to(folder).as_posix()) not in contents]
    removed = [path for path in left if whole and _is_unchanged(path, earlier[path])]
    for path in removed:
        path.unlink(missing_ok=True)
    return replaced, [path.relative_to(folder).as_posix() for path in removed]


def _is_unchanged(path: Path, checksum: str | None) -> bool:
    if checksum is None or path.is_symlink() or not path.is_file():
        return False
    return hashlib.sha256(path.read_bytes()).hexdigest() == checksum

"""Files that were uploaded: laid down once, in a folder that goes with the session, told of by their own names."""

from __future__ import annotations

import hashlib
import re
import shutil
import tempfile
import weakref
from collections.abc import Mapping
from pathlib import Path

from planner.errors import FileError

__all__ = ["Uploads", "forget_all_uploads", "parts_of_name"]

PREFIX = "mosaic-planner-"
LONGEST_PART = 120
DIGEST_LETTERS = 24
_FOLDERS: set[Path] = set()
"""Of all sessions that are open."""


def parts_of_name(name: str) -> tuple[str, ...]:
    r"""Return the folders and the file that an uploaded name means, none of which leads out of where it is put.

    Raises
    ------
    FileError
        If it names no file.

    >>> parts_of_name("night/../../2.fits"), parts_of_name("C:\\frames\\3.fits")
    (('night', '2.fits'), ('C', 'frames', '3.fits'))
    """
    parts = [re.sub(r"[\x00-\x1f\x7f:]", "", part).strip() for part in re.split(r"[/\\]", name)]
    kept = tuple(part[-LONGEST_PART:] for part in parts if part.strip(". "))
    if not kept:
        raise FileError(f"{name[:LONGEST_PART]!r} is no name of a file; rename it and choose it again")
    return kept


class Uploads:
    """The uploads of a session.

    >>> uploads = Uploads()
    >>> folder = uploads.keep({"a.csv": b"1"})
    >>> folder == uploads.keep({"a.csv": b"1"}), (folder / "a.csv").read_bytes()
    (True, b'1')
    >>> uploads.named(f"{folder / 'a.csv'} has no header")
    'a.csv has no header'
    """

    def __init__(self) -> None:
        self._folder: Path | None = None

    def keep(self, files: Mapping[str, bytes]) -> Path:
        """Lay files down, unless the same are there already; return their folder, which holds nothing else.

        Raises
        ------
        FileError
            If they cannot be kept.
        """
        found = self._home() / _digest(files)
        if found.is_dir():
            return found
        begun = Path(tempfile.mkdtemp(dir=self._home()))
        try:
            for name, content in files.items():
                target = begun.joinpath(*parts_of_name(name))
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(content)
            begun.rename(found)
        except OSError as error:
            raise FileError(
                f"the uploaded files cannot be kept ({error.strerror or error}); choose them again"
            ) from error
        finally:
            shutil.rmtree(begun, ignore_errors=True)
        return found

    def keep_one(self, name: str, content: bytes) -> Path:
        """Lay one file down; return where it stands."""
        return self.keep({name: content}).joinpath(*parts_of_name(name))

    def place(self, name: str) -> Path:
        """Return a path of the session's own that goes with it; what stands there is the caller's business."""
        return self._home() / name

    def named(self, text: str) -> str:
        """Return a sentence in which uploads have the names that their owner knows."""
        if self._folder is None:
            return text
        return re.sub(re.escape(str(self._folder)) + r"(/[0-9a-f]+)?/?", "", text)

    def forget(self) -> None:
        """Take them all away."""
        if self._folder is not None:
            _forget(self._folder)

    def _home(self) -> Path:
        if self._folder is None or not self._folder.is_dir():
            self._folder = Path(tempfile.mkdtemp(prefix=PREFIX))
            _FOLDERS.add(self._folder)
            weakref.finalize(self, _forget, self._folder)
        return self._folder


def forget_all_uploads() -> None:
    """Take the uploads of all sessions away: the server stops."""
    for folder in list(_FOLDERS):
        _forget(folder)


def _forget(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    _FOLDERS.discard(folder)


def _digest(files: Mapping[str, bytes]) -> str:
    digest = hashlib.sha256()
    for name, content in sorted(files.items()):
        digest.update(f"{len(name)} {len(content)} {name}".encode())
        digest.update(content)
    return digest.hexdigest()[:DIGEST_LETTERS]

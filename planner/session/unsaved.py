"""What is not saved yet, kept on disk until it is saved or let go: a reload or a stop of the planner loses nothing.

The text stands beside the plan file, or in the user's own folder for such things where the plan file is none of
the user's (a sample, an upload) or stands where nobody may write.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import uuid
from collections.abc import Container
from dataclasses import dataclass
from pathlib import Path

from planner.errors import FileError
from planner.files.output import write_files
from planner.files.text_file import read_text

__all__ = ["Kept", "Unsaved", "kept_texts", "state_folder"]

SUFFIX = ".unsaved"
ID_LETTERS = 12
MOST_OFFERED = 3
_STARTED = dt.datetime.now().astimezone()


@dataclass(frozen=True)
class Kept:
    """An unsaved text.

    Parameters
    ----------
    path : Path
        Where it is kept.
    text : str
    when : datetime
        Of its last change, local time.
    """

    path: Path
    text: str
    when: dt.datetime

    @property
    def before_start(self) -> bool:
        """Whether it is of a planner that ran before this one."""
        return self.when < _STARTED

    def let_go(self) -> None:
        """Take it away."""
        self.path.unlink(missing_ok=True)


class Unsaved:
    """Where a session keeps what is not saved.

    Parameters
    ----------
    plan : Path
        The plan file.
    own : bool
        Whether it is the user's: then the text is kept beside it.
    """

    def __init__(self, plan: Path, own: bool) -> None:
        self.id = uuid.uuid4().hex[:ID_LETTERS]
        self._places = [_beside(plan), _apart(plan)] if own else [_apart(plan)]
        self._kept: Path | None = None

    def keep(self, text: str) -> bool:
        """Keep a text in the place of the one before; return whether it could be."""
        for folder, stem in self._places:
            target = folder / f"{stem}.{self.id}{SUFFIX}"
            try:
                write_files(folder, {target.name: text.encode()}, may_replace=lambda _: True)
            except FileError:
                continue
            self._kept = target
            return True
        return False

    def let_go(self) -> None:
        """Take away what is kept."""
        if self._kept is not None:
            self._kept.unlink(missing_ok=True)
            self._kept = None


def kept_texts(plan: Path, but_not: Container[str] = (), also: str = "") -> list[Kept]:
    """Return unsaved texts of a plan file, the last one first.

    Parameters
    ----------
    plan : Path
    but_not : container of str
        Ids of what is open elsewhere.
    also : str
        Id of what is wanted though it is of another plan file, which may be there no more (an upload).
    """
    found: dict[Path, Kept] = {}
    for folder, name in (
        _named(_beside(plan), "*"),
        _named(_apart(plan), "*"),
        (state_folder(), f"*.{also}"),
    ):
        for path in folder.glob(f"{name}{SUFFIX}"):
            if path.name[: -len(SUFFIX)].rpartition(".")[2] not in but_not:
                found |= _read(path)
    return sorted(found.values(), key=lambda kept: kept.when, reverse=True)[:MOST_OFFERED]


def state_folder() -> Path:
    """Return the user's own folder for what a program keeps (XDG base directories, `XDG_STATE_HOME`)."""
    home = os.environ.get("XDG_STATE_HOME")
    return (Path(home) if home else Path.home() / ".local" / "state") / "mosaic-planner"


def _read(path: Path) -> dict[Path, Kept]:
    try:
        when = dt.datetime.fromtimestamp(path.stat().st_mtime).astimezone()
        return {path: Kept(path, read_text(path, "unsaved text"), when)}
    except (OSError, FileError):
        return {}


def _beside(plan: Path) -> tuple[Path, str]:
    return plan.absolute().parent, f".{plan.name}"


def _apart(plan: Path) -> tuple[Path, str]:
    return (
        state_folder(),
        f"{plan.name}.{hashlib.sha256(str(plan.absolute()).encode()).hexdigest()[:ID_LETTERS]}",
    )


def _named(place: tuple[Path, str], unsaved_id: str) -> tuple[Path, str]:
    return place[0], f"{_literal(place[1])}.{unsaved_id}"


def _literal(name: str) -> str:
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in name)

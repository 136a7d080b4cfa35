"""Opening and saving: plan files of this machine, uploads and samples."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from planner.errors import FileError
from planner.files.output import write_files
from planner.files.plan_file.shared import one_request_from_text
from planner.files.text_file import read_text

from .session import Session
from .uploads import Uploads, parts_of_name

__all__ = ["FIRST_PLAN", "first_session", "open_uploads", "sample_files", "save_plan", "typed_path"]

SAMPLES = Path(__file__).resolve().parents[2] / "sample_targets"
PLAN = "plan file"
MOST_QUOTED = 80
"""Characters of a path in a sentence."""
FIRST_SAMPLE = "vela_shell.toml"
FIRST_PLAN = """\
title = "First mosaic"

[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]
width_deg = 6.0
height_deg = 4.0
"""


def typed_path(text: str) -> Path:
    """Return a path that was typed, whole.

    Raises
    ------
    FileError
        If no file can have that name, or its home folder is unknown.

    >>> typed_path("/data/vela/../shell.toml").as_posix()
    '/data/vela/../shell.toml'
    """
    named = text if len(text) <= MOST_QUOTED else f"{text[:MOST_QUOTED]}…"
    try:
        path = Path(text.strip()).expanduser().absolute()
        path.exists()
    except RuntimeError as error:
        raise FileError(f"{named!r}: there is no such home folder; type the path whole") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is no path"
        raise FileError(f"{named!r} cannot be looked at ({why}); check the path") from error
    return path


def first_session(path: Path | None) -> Session:
    """Return the session that the app begins with: the plan given, or a sample."""
    if path is not None:
        return Session.open(path)
    sample = SAMPLES / FIRST_SAMPLE
    if sample.is_file():
        return Session.open(sample, own=False)
    return Session(FIRST_PLAN, Path.cwd() / "mosaic.toml")


@cache
def sample_files() -> Mapping[str, Path]:
    """Plan files of the samples by title; read once, since every run of a page asks for them."""
    found = {}
    for path in sorted(SAMPLES.glob("*.toml")):
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        if "region" in document and "title" in document:
            found[str(document["title"])] = path
    return MappingProxyType(found)


def open_uploads(uploads: Uploads, files: Mapping[str, bytes]) -> Session:
    """Open a plan file that was uploaded, with the setup and outline files that it names.

    Parameters
    ----------
    uploads : Uploads
        Where the files are kept.
    files : mapping
        Names to contents.

    Raises
    ------
    FileError
        If there is not exactly one plan file among them, or it has faults.
    """
    plans = [name for name, content in files.items() if _is_plan(name, content)]
    if len(plans) != 1:
        raise FileError(
            f"wanted one plan file (TOML with a [region]) among the files, got {len(plans)}; choose one, "
            "and the setup and outline files that it names"
        )
    folder = uploads.keep({parts_of_name(name)[-1]: content for name, content in files.items()})
    return Session.open(folder / parts_of_name(plans[0])[-1], own=False)


def _is_plan(name: str, content: bytes) -> bool:
    if not name.lower().endswith(".toml"):
        return False
    try:
        return "region" in tomllib.loads(content.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError):
        return True


def save_plan(session: Session, path: Path) -> None:
    """Write the plan file: whole, and over no file but the one that was opened.

    Raises
    ------
    FileError
        If another file is in the way, the file has been changed by somebody else or is not there any more
        (said once), what it names does not stand beside it, or the folder cannot be written.
    """
    path = typed_path(str(path))
    if path.suffix.lower() != ".toml":
        raise FileError(f"a plan file ends in .toml, got {path.name!r}; name it so")
    ours = session.own and path == session.path.absolute()
    if path.exists() and not ours:
        raise FileError(f"{path} is in the way; choose another name, or open that file")
    if ours and not path.exists() and session.told_missing != path:
        session.told_missing = path
        raise FileError(
            f"{path} is not there any more: it was deleted or moved since it was opened; save once more to "
            "write it anew, or choose another name"
        )
    if path.exists() and read_text(path, PLAN) != session.saved_text:
        raise FileError(f"{path} has been changed since it was opened; open it again or choose another name")
    text = session.history.present
    one_request_from_text(text, path=path)
    write_files(path.parent, {path.name: text.encode()}, may_replace=lambda _: ours)
    session.saved(path)

"""The index of a hand-over folder: README.txt with what every file is, its size and its SHA-256."""

from __future__ import annotations

import hashlib
import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

__all__ = ["INDEX_NAME", "HandoverFile", "handover_index", "listed_in_index"]

INDEX_NAME = "README.txt"
WIDTH = 79
LINE = re.compile(r"([0-9a-f]{64})  (\S.*)")
"""A line as `sha256sum --check` reads it."""
LARGEST_INDEX = 50_000_000


@dataclass(frozen=True)
class HandoverFile:
    """One file of a hand-over.

    Parameters
    ----------
    path : str
        Relative to the folder, with forward slashes.
    kind : str
        One of `HANDOVER_KINDS`.
    standard : str
        The open standard, or what else says how to read it.
    content : bytes
    """

    path: str
    kind: str
    standard: str
    content: bytes

    @property
    def sha256(self) -> str:
        """Checksum, hexadecimal."""
        return hashlib.sha256(self.content).hexdigest()


def kinds_and_standards(files: Sequence[HandoverFile]) -> list[tuple[str, str]]:
    """Return each kind of file with its standard, once."""
    return list(dict.fromkeys((file.kind, file.standard) for file in files))


def handover_index(
    title: str, facts: Sequence[str], files: Sequence[HandoverFile], cautions: Sequence[str] = ()
) -> bytes:
    """Return README.txt.

    Parameters
    ----------
    title : str
    facts : sequence of str
        Lines on the plan, what a person must know first.
    files : sequence of HandoverFile
    cautions : sequence of str
        For whoever turns the camera or lets the mount move.
    """
    kinds = kinds_and_standards(files)
    lines = [
        *_folded(title),
        "",
        "Hand-over of a mosaic plan, written by the mosaic planner.",
        "",
        *_listed("-", facts),
        "",
        *(
            ["Cautions, before anything moves or anybody touches it:", *_listed("!", cautions), ""]
            if cautions
            else []
        ),
        "What is what:",
        *(line for kind in kinds for line in _entry(*kind, files)),
        "",
        f"SHA-256 of each file (check in this folder with: sha256sum --check {INDEX_NAME}):",
        "",
        *(f"{file.sha256}  {file.path}" for file in files),
    ]
    return ("\n".join(lines) + "\n").encode()


def _listed(mark: str, texts: Sequence[str]) -> list[str]:
    return [line for text in texts for line in _folded(f"{mark} {text}", hang="  ")]


def _entry(kind: str, standard: str, files: Sequence[HandoverFile]) -> list[str]:
    """Lines on the files of one kind and standard."""
    paths = [file.path for file in files if (file.kind, file.standard) == (kind, standard)]
    names = ", ".join(paths) if len(paths) <= 4 else f"{paths[0]} to {paths[-1]}, {len(paths)} files"
    return _folded(f"{names}: {standard}", first=f"  {kind:10}", hang=" " * 12)


def _folded(text: str, *, first: str = "", hang: str = "") -> list[str]:
    """Fold a text at spaces alone: names of files stay whole."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=hang,
        break_long_words=False,
        break_on_hyphens=False,
    )


def listed_in_index(folder: Path) -> dict[str, str]:
    """Paths and checksums in the index of an earlier hand-over; empty where there is none.

    Only plain relative paths count, so that an index from elsewhere cannot name files outside the folder.
    """
    index = folder / INDEX_NAME
    try:
        if index.is_symlink() or index.stat().st_size > LARGEST_INDEX:
            return {}
        text = index.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return {}
    found = (LINE.fullmatch(line) for line in text.splitlines())
    return {match[2]: match[1] for match in found if match and _is_inside(match[2])}


def _is_inside(path: str) -> bool:
    parts = PurePosixPath(path).parts
    return not path.startswith("/") and "\\" not in path and not {"..", "."} & set(parts)

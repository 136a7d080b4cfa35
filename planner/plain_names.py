"""Plain file names from any text."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["file_stems"]

UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")
LONGEST = 80


def file_stems(names: Sequence[str]) -> list[str]:
    """Return file names without suffix, all different even where capitals do not count.

    Letters of ASCII, digits, ``_`` and ``-`` stay; anything else becomes ``_``. Where that makes two names
    the same, or leaves nothing, the place in the sequence is added.

    >>> file_stems(["A1", "a1", "../x y", "é"])
    ['A1', 'a1-2', '_x_y', '_-4']
    """
    stems: list[str] = []
    taken: set[str] = set()
    for number, name in enumerate(names, start=1):
        stem = UNSAFE.sub("_", name)[:LONGEST]
        if stem.strip("_-") == "" or stem.casefold() in taken:
            stem = f"{stem}-{number}"
        while stem.casefold() in taken:
            stem += "-"
        taken.add(stem.casefold())
        stems.append(stem)
    return stems

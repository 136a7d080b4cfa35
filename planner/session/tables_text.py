"""The part of a plan file's text that describes tables of the user's own: taken out and put in with its comments."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from planner.files.plan_file.write import update_document

__all__ = ["tables_text", "with_tables_text"]

HEADER = re.compile(r"""\s*\[\[?\s*["']?([^\]."'\s]+)[^\]]*\]\]?\s*(#.*)?$""")
TABLES = "tables"


def tables_text(text: str) -> str | None:
    r"""Return what a plan file says of its tables, comments and all; None where it says nothing in `[[tables]]`.

    >>> tables_text('title = "x"\n# for the pier\n[[tables]]\nfile = "a.csv"\n[region]\n')
    '# for the pier\n[[tables]]\nfile = "a.csv"\n'
    """
    parts = _parts(text)
    found = "".join(part for name, part in parts if name == TABLES)
    return found if found and _parsed(found) == {TABLES: _parsed(text).get(TABLES)} else None


def with_tables_text(text: str, new: str) -> str:
    r"""Return a plan file's text with another description of its tables.

    >>> print(with_tables_text('title = "x"\n', '# mine\n[[tables]]\nfile = "a.csv"\n'), end="")
    title = "x"
    <BLANKLINE>
    # mine
    [[tables]]
    file = "a.csv"
    """
    new = new.strip("\n") + "\n"
    if tables_text(text) is None:
        rest = update_document(text, {TABLES: None}).rstrip("\n")
        return f"{rest}\n\n{new}" if rest else new
    parts = _parts(text)
    first = next(k for k, (name, _) in enumerate(parts) if name == TABLES)
    before = "".join(part for name, part in parts[:first])
    after = "".join(part for name, part in parts[first:] if name != TABLES)
    return before + new + ("\n" if after and not after.startswith("\n") else "") + after


def _parts(text: str) -> list[tuple[str, str]]:
    """Cut a text above its headers, and above the comments that stand right above them."""
    parts: list[tuple[str, list[str]]] = [("", [])]
    for line in text.splitlines(keepends=True):
        header = HEADER.match(line)
        if header:
            parts.append((header[1], _comments_above(parts[-1][1])))
        parts[-1][1].append(line)
    return [(name, "".join(lines)) for name, lines in parts]


def _comments_above(lines: list[str]) -> list[str]:
    """Take the comments that end some lines out of them."""
    taken: list[str] = []
    while lines and lines[-1].lstrip().startswith("#"):
        taken.insert(0, lines.pop())
    return taken


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError:
        return {}

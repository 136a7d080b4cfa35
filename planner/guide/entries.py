"""Entries of the guide: what it says of one word, or of one key of the plan file, as short Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from planner.errors import InputError

from .pages import guide_page

__all__ = ["GuideTable", "key_entry", "tables_of", "unlinked", "word_entries", "word_entry"]

HEADING = re.compile(r"#+ (.*)")
LINK = re.compile(r"\[([^\]]+)\]\(([\w-]+)\.md(?:#[\w-]*)?\)")


@dataclass(frozen=True)
class GuideTable:
    """A table of a page: the heading above it, the names of its columns, its rows of cells (Markdown)."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def unlinked(text: str) -> str:
    """Return Markdown with links to other pages as their names alone: for places where they lead nowhere.

    >>> unlinked("see [nights](nights.md)")
    'see *nights*'
    """
    return LINK.sub(r"*\1*", text)


def tables_of(text: str) -> Iterator[GuideTable]:
    """Yield the tables of a page.

    >>> [table.rows for table in tables_of("# A\\n\\n| b | c |\\n|---|---|\\n| 1 | 2 |")]
    [(('1', '2'),)]
    """
    heading, fenced = "", False
    rows: list[tuple[str, ...]] = []
    for line in [*text.split("\n"), ""]:
        fenced ^= line.startswith("```")
        if line.startswith("|") and not fenced:
            rows.append(
                tuple(cell.strip() for cell in line.strip().removeprefix("|").removesuffix("|").split("|"))
            )
            continue
        if rows:
            yield GuideTable(heading, rows[0], tuple(rows[2:]))
            rows = []
        found = None if fenced else HEADING.match(line)
        heading = found[1] if found else heading


@cache
def key_entry(key: str) -> str | None:
    """Return what the guide says of a key of the plan file such as ``mosaic.overlap``; None if nothing.

    >>> key_entry("camera.binning")
    'Pixels binned, each way: 1 to 64. Default: `1`. Plan file: `[camera] binning`'
    """
    table, _, name = key.partition(".")
    for found in tables_of(guide_page("plan-file").text):
        for cells in found.rows if f"[{table}]" in found.heading else ():
            if cells[0] == f"`{name}`":
                says, unit, default = (unlinked(cell) for cell in cells[1:])
                place = found.heading.strip("`")
                return f"{says[:1].upper()}{says[1:]}: {unit}. {_default(default)}Plan file: `{place} {name}`"
    return None


def _default(text: str) -> str:
    return "" if text in ("needed", "none") else f"Default: {text.removeprefix('none: ')}. "


def word_entries(*words: str) -> str:
    """Return what the guide says of some words, a paragraph each; see `word_entry`."""
    return "\n\n".join(word_entry(word) for word in words)


@cache
def word_entry(word: str) -> str:
    """Return what the guide says of a word: its row in the page `words`.

    Raises
    ------
    InputError
        If the page has no such word.

    >>> word_entry("seam")
    '**seam**: the strip that two neighbouring panels share'
    """
    rows = (cells for table in tables_of(guide_page("words").text) for cells in table.rows)
    for cells in rows:
        if word in [one.strip() for one in cells[0].split(",")]:
            return f"**{word}**: {unlinked(cells[1])}"
    raise InputError(f"the guide has no entry {word!r}; add it to the page words")

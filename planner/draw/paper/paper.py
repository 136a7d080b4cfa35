"""Sheets of paper filled from top to bottom: headings, sentences, tables; a new page when one is full."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font

from .ink_page import FONT, GREY, PALE, InkPage

__all__ = ["Paper", "readable"]

SIDE_IN, TOP_IN, BOTTOM_IN, WIDTH_IN = 0.75, 10.45, 0.75, 6.77
TABLE_FONT = "DejaVu Sans Mono"
"""Ships with matplotlib; every letter is equally wide."""
BODY_PT, HEADING_PT, TABLE_PT, SMALL_PT = 9.5, 12.5, 9.0, 7.5
LINE = 1.45
"""Distance of lines, in sizes of type."""
LINE_IN = LINE * BODY_PT / 72
TABLE_LINE_IN = LINE * TABLE_PT / 72
TABLE_WRAP = 89
"""Letters of a full line of the table's type: each is 1233/2048 of its size wide."""
HEAD_LINES = 2
"""Lines that the names of a table's columns take."""


@cache
def _letters() -> frozenset[int]:
    """Code points that the type has: regular, bold and equally wide."""
    regular, table = FontProperties(family=FONT), FontProperties(family=TABLE_FONT)
    kinds = (regular, FontProperties(family=FONT, weight="bold"), table)
    return frozenset.intersection(*(frozenset(get_font(findfont(kind)).get_charmap()) for kind in kinds))


def readable(text: str) -> str:
    r"""Return the text on one line, letters that the type lacks as boxes.

    >>> readable("Vela\n星")
    'Vela □'
    """
    line = " ".join(text.split())
    return "".join(sign if ord(sign) in _letters() else "\N{WHITE SQUARE}" for sign in line)


class Paper:
    """Pages of one document, written from top to bottom in black, which red light leaves readable.

    Parameters
    ----------
    title : str
        At the head of every page.
    subtitle : str
        Below it.
    """

    def __init__(self, title: str, subtitle: str) -> None:
        self.title, self.subtitle = readable(title), readable(subtitle)
        self._pages: list[InkPage] = []
        self._y = 0.0

    @property
    def page_count(self) -> int:
        """Pages so far."""
        return len(self._pages)

    def _new_page(self) -> None:
        page = InkPage(self.title)
        self._pages.append(page)
        head = page.fitted(self.title, size=15.0, width=WIDTH_IN, weight="bold")
        page.text(SIDE_IN, 11.07, head, size=15.0, weight="bold")
        page.text(SIDE_IN, 10.87, self.subtitle, size=8.5, color=GREY)
        self._rule(10.77, strong=True)
        self._y = TOP_IN

    def _rule(self, y: float, *, strong: bool = False) -> None:
        style = {"linewidth": 1.2} if strong else {"color": GREY, "linewidth": 0.6}
        self._pages[-1].line(SIDE_IN, y, SIDE_IN + WIDTH_IN, y, **style)

    def _room(self, height: float) -> None:
        """Begin a new page unless so much room is left on this one, inches."""
        if not self._pages or self._y - height < BOTTOM_IN:
            self._new_page()

    def heading(self, text: str, *, room_for: float = 2 * LINE_IN) -> None:
        """Write a heading, kept on one page with what follows, as far as `room_for` inches reach."""
        self._room(2.2 * HEADING_PT / 72 + min(room_for, 8.5))
        self._y -= (1.75 if self._y < TOP_IN else 0.6) * HEADING_PT / 72
        self._pages[-1].text(SIDE_IN, self._y, readable(text), size=HEADING_PT, weight="bold")
        self._y -= 0.45 * HEADING_PT / 72

    def sentence(self, text: str, *, mark: str = "", strong: bool = False) -> None:
        """Write a sentence over as many lines as it needs, with a mark such as a number before it."""
        self._room(LINE_IN)
        indent, weight = 0.28 if mark else 0.0, "bold" if strong else "normal"
        width = WIDTH_IN - indent
        lines = self._pages[-1].wrapped(readable(text), size=BODY_PT, width=width, weight=weight)
        for number, line in enumerate(lines):
            self._room(LINE_IN)
            self._y -= LINE_IN
            if mark and number == 0:
                self._pages[-1].text(SIDE_IN, self._y, mark, size=BODY_PT, weight="bold")
            self._pages[-1].text(SIDE_IN + indent, self._y, line, size=BODY_PT, weight=weight)
        self._y -= 0.2 * LINE_IN

    @staticmethod
    def table_height(rows: int) -> float:
        """Height of a table with so many rows, inches."""
        return (rows + HEAD_LINES) * TABLE_LINE_IN

    def table(self, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Write a table; a column whose name begins with ``>`` is set to the right.

        The names of the columns stand above the rows on every page. What is too long for a line is cut.
        """
        names = [readable(name.removeprefix(">")) for name in columns]
        rows = [[readable(cell) for cell in row] for row in rows]
        widths = [max(map(len, cells)) for cells in zip(names, *rows, strict=True)]
        kinds = [(width, name.startswith(">")) for width, name in zip(widths, columns, strict=True)]
        head, *lines = (_line(row, kinds) for row in (names, *rows))
        while lines:
            self._room(self.table_height(min(len(lines), 3)))
            count = max(1, int((self._y - BOTTOM_IN) / TABLE_LINE_IN) - HEAD_LINES)
            self._block(head, lines[:count])
            lines = lines[count:]

    def _block(self, head: str, lines: Sequence[str]) -> None:
        """Write the names of the columns and rows that fit the page, as one block of text."""
        page = self._pages[-1]
        style: dict[str, Any] = {"size": TABLE_PT, "family": TABLE_FONT, "linespacing": LINE}
        self._y -= 1.1 * TABLE_LINE_IN
        page.text(SIDE_IN, self._y, head, **style)
        self._rule(self._y - 0.35 * TABLE_LINE_IN)
        self._y -= (len(lines) + 0.4) * TABLE_LINE_IN
        page.text(SIDE_IN, self._y, "\n".join(lines), **style)
        self._y -= 0.3 * TABLE_LINE_IN

    def numbered(self, footer: str, *, first: int) -> list[Figure]:
        """Return the pages, each with a footer and its number, counted from `first` for the first of them."""
        total = first - 1 + self.page_count
        for number, page in enumerate(self._pages, start=first):
            page.line(SIDE_IN, 0.58, SIDE_IN + WIDTH_IN, 0.58, color=PALE)
            page.text(SIDE_IN, 0.4, readable(footer), size=SMALL_PT, color=GREY)
            place = f"page {number} of {total}"
            page.text(SIDE_IN + WIDTH_IN, 0.4, place, size=SMALL_PT, color=GREY, ha="right")
        return [page.figure for page in self._pages]


def _line(cells: Sequence[str], kinds: Sequence[tuple[int, bool]]) -> str:
    """One line of a table; `kinds` holds each column's width and whether it is set to the right."""
    aligned = (
        cell.rjust(width) if to_right else cell.ljust(width)
        for cell, (width, to_right) in zip(cells, kinds, strict=True)
    )
    return "   ".join(aligned)[:TABLE_WRAP].rstrip()

"""How a table is fitted into a line: texts fold, then heads do, then columns go into a second table below.

Numbers are never cut: a column of them is as wide as the widest.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["KEEP", "Column", "Part", "folded", "hanging"]

KEEP = "\u00a0"
"""Stands for a space at which no cell is folded; it is printed as a space."""
GAP = 2
"""Letters between columns."""
COMFORT = 40
"""Letters that are enough for a text, so that no head needs to fold for it; chosen by eye."""
LEAST_TEXT = 16
"""Letters that a text gets before columns go below; chosen by eye."""
LONGEST_WHOLE = 24
"""Words of at most so many letters, such as names of files, are never cut; chosen by eye."""
UNITS = (
    r"x|%|°|arc|square|per|cent|deg|degrees?|minutes?|seconds?|hours?|days?|h|min|s|m|cm|mm|um|px|pixels?|inch"
    r"|[kMG]?B|panels?|frames?|exposures?|nights?|evenings?|angles?|turns?"
)
TIED = re.compile(
    rf"(?:(?<=\d)|(?<=\d°)|(?<=\bx)|(?<=\barc)|(?<=\bsquare)|(?<=\bper)) (?=(?:{UNITS}|\d[\d.]*)\b|[%°])"
)
"""Spaces between a number and its unit, or between the words of a unit."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column as its name says it: with ``>`` set to the right, with ``~`` a text that may fold."""

    name: str
    right: bool
    folds: bool
    cells: tuple[str, ...]

    @staticmethod
    def of(name: str, cells: Sequence[str]) -> Column:
        """Read the signs before a name."""
        return Column(name.lstrip(">~"), name.startswith(">"), name.startswith("~"), tuple(cells))

    @property
    def body(self) -> int:
        """Letters of the widest cell."""
        return max((len(cell) for cell in self.cells), default=0)

    @property
    def natural(self) -> int:
        """Letters where nothing folds."""
        return max(len(self.name), self.body)

    @property
    def least(self) -> int:
        """Letters where everything has folded that may."""
        head = max((len(word) for word in self.name.split()), default=0)
        return max(head, min(self.body, LEAST_TEXT) if self.folds else self.body, self.whole)

    @property
    def whole(self) -> int:
        """Letters that keep the words of a text whole, those that are not too long."""
        words = (word for cell in self.cells for word in cell.split(" ")) if self.folds else ()
        return max((len(word) for word in words if len(word) <= LONGEST_WHOLE), default=1)

    def folded(self, width: int) -> Column:
        """Return the column with lines of at most so many letters."""
        cells = tuple(_lines(cell, width) for cell in self.cells)
        return Column(_lines(self.name, width), self.right, self.folds, cells)


Part = tuple[Column, ...]
"""Columns that stand beside each other."""


def folded(columns: Sequence[Column], room: int | None, *, text_room: int, keys: int = 1) -> list[Part]:
    """Return the tables, one below the other, that hold all columns.

    Parameters
    ----------
    columns : sequence of Column
    room : int or None
        Letters of a line; None where there may be any number.
    text_room : int
        Letters of a line to which texts keep where there may be any number.
    keys : int
        How many of the first columns stand in every table.

    >>> wide = [Column.of("Panel", ["A1"]), Column.of(">Right ascension", ["08h49m36.0s"])]
    >>> [column.name for column in folded(wide, 18, text_room=120)[0]]
    ['Panel', 'Right\\nascension']
    """
    if room is None:
        return [_spread(columns, text_room)]
    parts = _parts(columns, room, keys) if _total(columns, "least") > room else [tuple(columns)]
    return [_fitted(part, room) for part in parts]


def hanging(text: str, room: int | None, indent: int) -> str:
    """Return a text of one line folded at words into lines of so many letters, further ones `indent` letters in.

    Words that are longer than a line, such as paths, stay whole; without `room` nothing folds.

    >>> print(hanging("Note  seams hold few stars", 18, 6))
    Note  seams hold
          few stars
    """
    if room is None or len(text) <= room:
        return text
    hang = " " * indent
    lines = textwrap.wrap(
        tied(text, room - indent),
        room,
        subsequent_indent=hang,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "\n".join(lines).replace(KEEP, " ")


def tied(text: str, width: int) -> str:
    """Return a text in which numbers keep to their units where it is folded to lines of so many letters.

    >>> tied("frames of 2.31 x 1.54 degrees", 40).split(" ")
    ['frames', 'of', '2.31\\xa0x\\xa01.54\\xa0degrees']
    >>> tied("frames of 2.31 x 1.54 degrees", 10).split(" ")[2:]
    ['2.31', 'x', '1.54', 'degrees']
    """
    kept = TIED.sub(KEEP, text)
    return kept if max(map(len, kept.split(" ")), default=0) <= width else text


def _total(columns: Sequence[Column], of: str) -> int:
    widths: list[int] = [getattr(column, of) for column in columns]
    return sum(widths) + GAP * (len(columns) - 1)


def _spread(columns: Sequence[Column], text_room: int) -> Part:
    """Fold nothing but texts, and these to no less than is comfortable."""
    fixed = [column for column in columns if not column.folds]
    texts = [column.natural for column in columns if column.folds]
    rest = text_room - sum(column.natural for column in fixed) - GAP * (len(columns) - 1)
    floors = [column.whole for column in columns if column.folds]
    widths = iter(_shares(texts, max(rest, COMFORT * len(texts)), floors))
    return tuple(column.folded(next(widths) if column.folds else column.natural) for column in columns)


def _fitted(part: Part, room: int) -> Part:
    """Fold texts first, then heads too."""
    gaps = GAP * (len(part) - 1)
    fixed = sum(column.natural for column in part if not column.folds)
    wanted = sum(min(column.natural, COMFORT) for column in part if column.folds)
    heads = "natural" if fixed + wanted + gaps <= room else "least"
    rest = room - gaps - sum(getattr(column, heads) for column in part if not column.folds)
    texts = [column for column in part if column.folds]
    widths = iter(_shares([one.natural for one in texts], rest, [one.whole for one in texts]))
    return tuple(column.folded(next(widths) if column.folds else getattr(column, heads)) for column in part)


def _shares(wanted: Sequence[int], rest: int, floors: Sequence[int]) -> list[int]:
    """Divide room among texts: what the short ones do not need is for the long ones; each has its floor, if they fit.

    >>> _shares([10, 90, 90], 100, [1, 1, 1]), _shares([20, 90], 40, [10, 24])
    ([10, 45, 45], [16, 24])
    """
    floors = floors if sum(floors) <= rest else [1] * len(wanted)
    shares = [0] * len(wanted)
    order = sorted(range(len(wanted)), key=lambda index: wanted[index])
    for taken, index in enumerate(order):
        room = rest - sum(floors[other] for other in order[taken + 1 :])
        share = max(floors[index], rest // (len(order) - taken))
        shares[index] = max(1, min(wanted[index], share, room))
        rest -= shares[index]
    return shares


def _parts(columns: Sequence[Column], room: int, keys: int) -> list[Part]:
    """Go below where no more columns fit; the first columns stand in every table."""
    heads, parts, part = tuple(columns[:keys]), [], tuple(columns[:keys])
    for column in columns[keys:]:
        if len(part) > len(heads) and _total((*part, column), "least") > room:
            parts.append(part)
            part = heads
        part = (*part, column)
    return [*parts, part]


def _lines(text: str, width: int) -> str:
    lines = textwrap.wrap(tied(text, width), width, break_on_hyphens=False) if len(text) > width else [text]
    return "\n".join(lines).replace(KEEP, " ")

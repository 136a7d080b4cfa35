"""A CSV file that nothing describes: a header with known names, angles in degrees or with their unit."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.errors import FileError, InputError
from planner.files.plan_file.sky_angle import degrees_from_text, right_ascension_deg

from .columns import angle_without_column, find_column, required_column
from .pointings import Pointing, Pointings

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["read_plain_table"]

DELIMITERS = ",;\t|"


def read_plain_table(content: bytes, source: str, request: Request) -> Pointings:
    """Read a CSV file whose first line that is no comment (#) is its header.

    Raises
    ------
    FileError
        If it is no text, has no such header, or a cell is no angle.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(
            f"{source} is not UTF-8 text; save it so, or give its encoding in [[tables]]"
        ) from error
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    lines = [(number, line) for number, line in lines if not line.startswith("#")]
    if "\0" in text or not lines:
        raise FileError(f"{source} is empty or binary; give a table with a header and one pointing a row")
    return Pointings.from_rows(_rows(lines, source, request), source)


def _rows(lines: list[tuple[int, str]], source: str, request: Request) -> Iterator[tuple[str, Pointing]]:
    header = lines[0][1]
    delimiter = max(DELIMITERS, key=header.count)
    names = next(csv.reader([header], delimiter=delimiter, skipinitialspace=True))
    ra, dec = (names.index(required_column(names, name, source)) for name in ("ra", "dec"))
    others = (find_column(names, quantity) for quantity in ("position_angle", "name", "order"))
    angle, name, order = (None if found is None else names.index(found) for found in others)
    _check_once(names, (ra, dec, angle, name, order), source)
    fallback = angle_without_column(request, source) if angle is None else 0.0
    for number, line in lines[1:]:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
        if len(cells) != len(names):
            raise FileError(f"{source}, line {number} has {len(cells)} cells, wanted {len(names)}; mend it")
        try:
            angle_deg = fallback if angle is None else degrees_from_text(cells[angle])
            place = right_ascension_deg(_number(cells[ra])), degrees_from_text(cells[dec])
        except InputError as error:
            raise FileError(f"{source}, line {number}: {error}") from error
        text = "" if name is None else cells[name].strip()
        turn = None if order is None else _number(cells[order])
        yield f"line {number}", Pointing(text, *place, angle_deg, turn if isinstance(turn, float) else None)


def _check_once(names: list[str], used: Sequence[int | None], source: str) -> None:
    """Refuse a table that has a column twice, so that nobody can tell which one counts."""
    plain = [name.strip().lower() for name in names]
    for number in used:
        if number is not None and plain.count(plain[number]) > 1:
            raise FileError(f"{source} has the column {names[number].strip()} twice; keep one of them")


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text

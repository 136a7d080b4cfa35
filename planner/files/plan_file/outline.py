"""An outline from a CSV file: two columns, ra and dec, in degrees."""

from __future__ import annotations

import csv
from pathlib import Path

from planner.errors import FileError
from planner.files.text_file import read_text

__all__ = ["read_outline_file"]

WHAT = "outline file"


def read_outline_file(path: Path) -> list[list[float]]:
    """Corners of an outline, [right ascension, declination] in degrees, in the order of the file.

    The first line may be a header (``ra,dec``); empty lines are passed over; values stand between commas.

    Raises
    ------
    FileError
        If the file cannot be read or a line does not hold two numbers; names the line.
    """
    lines = read_text(path, WHAT).splitlines()
    if any(";" in line or "\t" in line for line in lines):
        raise FileError(f"{path} has semicolons or tabs; an {WHAT} has two columns between commas, ra,dec")
    try:
        rows = [
            (number, row)
            for number, row in enumerate(csv.reader(lines, skipinitialspace=True), 1)
            if any(row)
        ]
    except csv.Error as error:
        raise FileError(f"{path} is no CSV file: {error}; give two columns, ra,dec") from error
    if rows and not _is_number(rows[0][1][0]):
        _check_header(path, rows.pop(0)[1])
    if not rows:
        raise FileError(f"{path} holds no corners; give one ra,dec a line")
    return [_corner(path, number, row) for number, row in rows]


def _check_header(path: Path, row: list[str]) -> None:
    names = [name.strip().lower() for name in row]
    if not (len(names) == 2 and names[0].startswith("ra") and names[1].startswith("de")):
        raise FileError(
            f"{path} must begin with the header ra,dec or with numbers, got {','.join(row)[:60]!r}; mend it"
        )


def _corner(path: Path, number: int, row: list[str]) -> list[float]:
    if len(row) != 2 or not all(_is_number(text) for text in row):
        raise FileError(
            f"{path} line {number} must be ra,dec in degrees, got {','.join(row)[:60]!r}; give two numbers"
        )
    return [float(text) for text in row]


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True

"""A file of the user's own form, read by the same description that writes it."""

from __future__ import annotations

import csv
import io
import itertools
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import FileError
from planner.files.user_table.equator import equator_matrix
from planner.files.user_table.table import QUOTING, Column, UserTable
from planner.files.user_table.values import column_date, safe_text
from planner.geometry import east_north, sky_basis, sky_to_vector, vector_to_sky

from .columns import angle_without_column
from .pointings import Pointing, Pointings

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["has_header", "read_described_table"]

NAME_FIELDS = ("panel", "target")
Row = Sequence[str]


def has_header(content: bytes, table: UserTable) -> bool:
    """Whether a file begins as this description says, with its first lines and its header."""
    try:
        text = _text(content[:100_000], table, errors="ignore")
        _, header = next(_records(text, table), (0, []))
    except csv.Error:
        return False
    return list(header) == [column.name for column in table.columns]


def read_described_table(content: bytes, table: UserTable, source: str, request: Request) -> Pointings:
    """Read the pointings of a file of the user's own form.

    Raises
    ------
    FileError
        If the file is not as described, or the description lacks a column for positions.
    """
    try:
        rows = list(_records(_text(content, table), table))
    except (UnicodeError, csv.Error) as error:
        raise FileError(f"{source} is not as [[tables]] describes it: {error}; mend one of them") from error
    if table.header:
        _check_header(rows[:1], table, source)
        rows = rows[1:]
    _check_width(rows, table, source)
    places = [f"line {line}" for line, _ in rows]
    names = [_name(row, table) for _, row in rows]
    sky_deg = _sky_deg(rows, table, source, request) if rows else ()
    pointings = (Pointing(name, *values) for name, values in zip(names, sky_deg, strict=True))
    return Pointings.from_rows(zip(places, pointings, strict=True), source)


def _text(content: bytes, table: UserTable, errors: str = "strict") -> str:
    return content.decode("utf-8-sig" if table.encoding == "utf-8" else table.encoding, errors)


def _records(text: str, table: UserTable) -> Iterator[tuple[int, Row]]:
    """Line numbers and cells of all rows that are not empty, the header among them."""
    stream = io.StringIO(text, newline="")
    for _ in table.first_lines:
        stream.readline()
    reader = csv.reader(stream, delimiter=table.delimiter, quoting=QUOTING[table.quote], strict=True)
    yield from ((reader.line_num + len(table.first_lines), row) for row in reader if any(row))


def _check_header(rows: Sequence[tuple[int, Row]], table: UserTable, source: str) -> None:
    wanted, got = [column.name for column in table.columns], list(rows[0][1]) if rows else []
    if wanted != got:
        raise FileError(
            f"{source} should have the header {', '.join(wanted)[:200]} that [[tables]] gives it, "
            f"got {', '.join(got)[:200] or 'nothing'}; mend one of them"
        )


def _check_width(rows: Sequence[tuple[int, Row]], table: UserTable, source: str) -> None:
    for line, row in rows:
        if len(row) != len(table.columns):
            wanted = len(table.columns)
            raise FileError(f"{source}, line {line} has {len(row)} cells, wanted {wanted}; mend one of them")


def _name(row: Row, table: UserTable) -> str:
    fields = [column.field for column in table.columns]
    text = next((row[fields.index(field)] for field in NAME_FIELDS if field in fields), "")
    return text[1:] if text.startswith("'") and safe_text(text[1:]) == text else text


def _sky_deg(
    rows: Sequence[tuple[int, Row]], table: UserTable, source: str, request: Request
) -> list[tuple[float, float, float]]:
    """Right ascension, declination and position angle of all rows, ICRS degrees."""
    ra, dec = _position_columns(table, source)
    matrix = _matrix(ra, request)
    ra_deg, dec_deg = (_angles_deg(rows, column, table, source) for column in (ra, dec))
    vectors = sky_to_vector(ra_deg, dec_deg) @ matrix
    angle_deg = _position_angles_deg(vectors, rows, table, source, request)
    return list(zip(*(values.tolist() for values in (*vector_to_sky(vectors), angle_deg)), strict=True))


def _position_columns(table: UserTable, source: str) -> tuple[Column, Column]:
    """First right ascension and declination that stand on the same equator."""
    pairs = itertools.product(*([c for c in table.columns if c.field == name] for name in ("ra", "dec")))
    for ra, dec in pairs:
        if (ra.equator, ra.date) == (dec.equator, dec.date):
            return ra, dec
    raise FileError(
        f"{source}: table {table.file!r} in [[tables]] has no pair of columns ra and dec on one equator; "
        "add them to read pointings back"
    )


def _matrix(column: Column, request: Request) -> NDArray[np.float64]:
    if column.equator == "ICRS":
        return np.eye(3)
    return equator_matrix(column.equator, column_date(column, request.nights))


def _angles_deg(
    rows: Sequence[tuple[int, Row]], column: Column, table: UserTable, source: str
) -> NDArray[np.float64]:
    """Angles of one column, degrees, direction allowed for."""
    form, index = column.angle_form(table.decimal_mark), table.columns.index(column)
    sign = -1.0 if column.direction == "west" else 1.0
    angles = np.empty(len(rows))
    for number, (line, row) in enumerate(rows):
        try:
            angles[number] = sign * form.read(row[index])
        except ValueError as error:
            raise FileError(f"{source}, line {line}, column {column.name!r}: {error}; mend it") from error
    return angles


def _position_angles_deg(
    vectors: NDArray[np.float64],
    rows: Sequence[tuple[int, Row]],
    table: UserTable,
    source: str,
    request: Request,
) -> NDArray[np.float64]:
    """Position angles, degrees: from their own column, from readings, or the plan's pinned one."""
    columns = {column.field: column for column in reversed(table.columns)}
    if "position_angle" in columns:
        column = columns["position_angle"]
        matrix = _matrix(column, request)
        angle_deg = _angles_deg(rows, column, table, source)
        up = sky_basis(*vector_to_sky(vectors @ matrix.T), angle_deg)[:, 1] @ matrix
        east, north = east_north(*vector_to_sky(vectors))
        angle_rad = np.arctan2(np.sum(up * east, axis=-1), np.sum(up * north, axis=-1))
        return np.asarray(np.degrees(angle_rad))
    if "reading" in columns and request.angle_device is not None:
        readings = _angles_deg(rows, columns["reading"], table, source)
        return np.array([request.angle_device.position_angle_of(reading) for reading in readings.tolist()])
    return np.full(len(rows), angle_without_column(request, source))

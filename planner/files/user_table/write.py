"""The user's own table as bytes, and what its rounding costs on the sensor."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.answers.panel_facts import exposures_wanted
from planner.errors import InputError
from planner.mosaic.panel import shooting_order

from .table import QUOTING, Column, UserTable
from .values import column_date, exposure_cells, filter_names, panel_angles_deg, panel_cells, safe_text

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["RoundingLoss", "check_ground", "rounding_losses", "table_bytes"]

TOLERATED_PX = 0.1
"""What rounding may move a star by before the user is told."""
LINE_ENDS = {"lf": "\n", "crlf": "\r\n"}


@dataclass(frozen=True)
class RoundingLoss:
    """How far a column's rounding moves a point of the frame at most, binned pixels.

    A position moves the whole frame; an angle moves its corners, the centre stays.
    """

    column: str
    pixels: float


def check_ground(table: UserTable, request: Request) -> None:
    """Refuse a table that shows what the request does not have.

    Raises
    ------
    InputError
        Naming the table and what is missing.
    """
    if table.rows != "panel" and not request.filters:
        raise InputError(
            f"table {table.file!r} has rows = {table.rows!r}, but the plan has no filters; "
            "add [[filters]] to the plan or leave the table out"
        )
    for column in table.columns:
        if column.about.kind == "reading" and request.angle_device is None:
            raise InputError(
                f"table {table.file!r}, column {column.name!r}: readings need an angle device; "
                "add [angle_device] to the plan or its setup file"
            )
        if column.equator != "ICRS":
            column_date(column, request.nights)


def table_bytes(table: UserTable, plan: Plan) -> bytes:
    """Return the file that a table asks for.

    Raises
    ------
    InputError
        If the plan lacks what a column shows, or a cell cannot be written as the table wants it.
    """
    check_ground(table, plan.request)
    stream = io.StringIO()
    end = LINE_ENDS[table.line_end]
    stream.write("".join(line + end for line in table.first_lines))
    writer = csv.writer(
        stream, delimiter=table.delimiter, quoting=QUOTING[table.quote], lineterminator=end, strict=True
    )
    try:
        writer.writerows(_lines(table, plan))
    except csv.Error as error:
        raise InputError(
            f"table {table.file!r}: a cell holds the delimiter {table.delimiter!r} or a quote; "
            "quote where needed or choose another delimiter"
        ) from error
    return _encoded(stream.getvalue(), table)


def _lines(table: UserTable, plan: Plan) -> Iterator[Sequence[str]]:
    if table.header:
        yield [_guarded(column.name, table) for column in table.columns]
    rows = _rows(table, plan)
    yield from zip(*(_cells(column, table, plan, rows) for column in table.columns), strict=True)


def _rows(table: UserTable, plan: Plan) -> list[tuple[int, int]]:
    """Panel and filter of each row, as indices; what wants no exposures has no row."""
    panels = shooting_order(plan.mosaic.panels)
    if table.rows == "panel":
        return [(panel, 0) for panel in panels]
    filters = range(len(plan.request.filters))
    wanted = exposures_wanted(plan)
    pairs = list(product(panels, filters))
    if table.rows == "filter and panel":
        pairs = [(panel, item) for item, panel in product(filters, panels)]
    return [(panel, item) for panel, item in pairs if wanted[panel][item] > 0]


def _cells(column: Column, table: UserTable, plan: Plan, rows: list[tuple[int, int]]) -> list[str]:
    if column.field == "number":
        return [str(number) for number in range(1, len(rows) + 1)]
    if column.field.startswith("exposure"):
        return exposure_cells(column, plan, rows, table.decimal_mark)
    by_filter = column.about.by_filter
    if by_filter:
        values = filter_names(column, plan)
    else:
        values = panel_cells(column, plan, table.decimal_mark)
    if column.about.kind == "text":
        values = [_guarded(value, table) for value in values]
    return [values[row[by_filter]] for row in rows]


def _guarded(text: str, table: UserTable) -> str:
    return safe_text(text) if table.guard_formulas else text


def _encoded(text: str, table: UserTable) -> bytes:
    try:
        return text.encode("utf-8-sig" if table.byte_order_mark else table.encoding)
    except UnicodeEncodeError as error:
        raise InputError(
            f"table {table.file!r}: {table.encoding} has no letter {text[error.start]!r}; "
            "choose encoding = 'utf-8' or change the text"
        ) from error


def rounding_losses(table: UserTable, plan: Plan) -> list[RoundingLoss]:
    """Columns of a table whose rounding moves a point of some frame by more than a tenth of a pixel.

    A reading counts only where the column is coarser than the angle device's own divisions.
    """
    losses = [_loss(column, plan) for column in table.columns if column.about.is_angle]
    return [loss for loss in losses if loss.pixels > TOLERATED_PX]


def _loss(column: Column, plan: Plan) -> RoundingLoss:
    form, device = column.angle_form(), plan.request.angle_device
    if column.field == "reading" and device is not None and form.tick_deg <= device.division_deg:
        return RoundingLoss(column.name, 0.0)
    angle_deg = panel_angles_deg(column, plan)
    angle_deg = np.where(np.isfinite(angle_deg), angle_deg, 0.0)
    off_deg = (form.rounded_deg(angle_deg) - angle_deg + 90) % 180 - 90
    return RoundingLoss(column.name, float(np.max(np.abs(off_deg) * _px_per_degree(column, plan))))


def _px_per_degree(column: Column, plan: Plan) -> NDArray[np.float64]:
    """How many pixels a degree of a column's angle moves the point of each frame that it moves most."""
    camera, panels = plan.request.camera, plan.mosaic.panels
    if column.about.kind != "sky angle":
        return np.full(len(panels), math.radians(1.0) * math.hypot(*camera.binned_px) / 2)
    cos_dec = np.cos(np.radians([panel.dec_deg for panel in panels])) if column.field == "ra" else 1.0
    return np.broadcast_to(cos_dec * 3600 / camera.scale_arcsec_px, len(panels))

"""targets.csv: one row a target, for spreadsheets."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from planner.files.documents.json_text import plain_number
from planner.files.documents.targets import target_rows

if TYPE_CHECKING:
    from planner.answers.targets.target import TargetList

__all__ = ["TARGET_COLUMNS", "targets_csv_bytes"]

TARGET_COLUMNS = (
    "name",
    "common_name",
    "kind",
    "parts",
    "ra_deg",
    "dec_deg",
    "margin_arcmin",
    "position_angle_deg",
    "fits_at_deg",
    "margin_now_arcmin",
    "area_deg2",
    "greatest_altitude_deg",
    "panels",
    "panels_now",
    "cost",
    "planned_as",
)
"""Before the columns of hours, ``hours_`` with the filter's name each."""


def targets_csv_bytes(found: TargetList) -> bytes:
    """Return the content of targets.csv, UTF-8: fixed columns, then the hours through each filter."""
    filters = [name for one in found.targets[:1] for name in one.hours]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([*TARGET_COLUMNS, *(f"hours_{name}" for name in filters)])
    for row in target_rows(found):
        hours = [plain_number(row["hours"][name], exact=False) for name in filters]
        writer.writerow([*(_cell(row, column) for column in TARGET_COLUMNS), *hours])
    return stream.getvalue().encode()


def _cell(row: dict[str, Any], column: str) -> Any:
    if column in ("ra_deg", "dec_deg"):
        return plain_number(row["center_deg"][column == "dec_deg"], exact=True)
    if column == "common_name":
        return next((name for name in row["names"][1:] if not any(sign.isdigit() for sign in name)), "")
    value = row.get(column, "")
    if column == "parts":
        return "; ".join(value)
    if column == "fits_at_deg":
        return "; ".join(f"{start:.4f} to {stop:.4f}" for start, stop in value)
    return plain_number(value, exact=column.endswith("_deg")) if isinstance(value, float) else value

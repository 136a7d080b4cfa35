"""how-many-angles.json: panels against the number of camera angles, as one document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from planner.words import floored

if TYPE_CHECKING:
    from planner.answers.how_many_angles import AnglesRow

__all__ = ["SCHEMA", "how_many_angles_document"]

SCHEMA = "how-many-angles 1"
OVERLAP_DECIMALS = 6


def how_many_angles_document(title: str, rows: Sequence[AnglesRow]) -> dict[str, Any]:
    """Return a comparison of numbers of angles as a document of plain lists, numbers and texts.

    ``angles`` is what was asked, ``angles_used`` the number of camera angles that the plan uses;
    ``overlap_found`` is rounded down, so that it claims no more than has been proven.
    """
    return {"schema": SCHEMA, "title": title, "rows": [_row(row) for row in rows]}


def _row(row: AnglesRow) -> dict[str, Any]:
    return {
        "angles": row.angles,
        "panels": row.panels,
        "angles_used": row.angles_used,
        "overlap_found": floored(row.overlap_found, OVERLAP_DECIMALS, slack=1e-6),
        "panel_count_bound": row.panel_count_bound,
    }

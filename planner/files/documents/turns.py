"""turns.json: panels against turns of the camera, as one document."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .json_text import json_text

if TYPE_CHECKING:
    from planner.answers.turns import TurnsRow

__all__ = ["SCHEMA", "turns_document", "turns_json_bytes"]

SCHEMA = "turns 1"
OVERLAP_DECIMALS = 6


def turns_document(title: str, rows: Sequence[TurnsRow]) -> dict[str, Any]:
    """Return a comparison of turns as a document of plain lists, numbers and texts.

    ``angles`` is the number of camera angles that the plan uses; ``overlap_found`` is rounded down, so that it
    claims no more than has been proven.
    """
    return {"schema": SCHEMA, "title": title, "turns": [_row(row) for row in rows]}


def _row(row: TurnsRow) -> dict[str, Any]:
    scale = 10**OVERLAP_DECIMALS
    return {
        "turns": row.turns,
        "panels": row.panels,
        "angles": row.angles,
        "overlap_found": math.floor(row.overlap_found * scale + 1e-6) / scale,
        "panel_count_bound": row.panel_count_bound,
    }


def turns_json_bytes(title: str, rows: Sequence[TurnsRow]) -> bytes:
    """Content of turns.json."""
    return json_text(turns_document(title, rows)).encode()

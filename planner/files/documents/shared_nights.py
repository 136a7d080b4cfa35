"""nights.json of a mosaic that several instruments share: each one's nights, and one timetable of all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .json_text import without_none
from .nights import nights_document

if TYPE_CHECKING:
    from planner.answers.shared.shared_nights import SharedNights

__all__ = ["SCHEMA", "shared_nights_document"]

SCHEMA = "shared-nights 1"


def shared_nights_document(shared: SharedNights) -> dict[str, Any]:
    """Return the nights of all instruments as a document; keys without ground are absent.

    ``timetable`` holds the blocks of all instruments by their beginnings, each with its ``instrument``.
    """
    documents = [(one.name, nights_document(nights)) for one, nights in shared.each]
    blocks = [{"instrument": name, **block} for name, one in documents for block in one["timetable"]]
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "timetable": sorted(blocks, key=lambda block: (block["from"], block["instrument"])),
    }
    if shared.has_timetable:
        document["finished"] = shared.finished
        document["evening_of_last"] = shared.last.isoformat() if shared.last else None
        document["hours_used"] = round(shared.hours_used, 6)
        document["costs"] = {name: round(value, 2) for name, value in shared.cost.items()} or None
    document["instruments"] = [{"name": name, "nights": one} for name, one in documents]
    return without_none(document)

"""progress.json of a mosaic that several instruments share: each one's part, and all of them together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .json_text import without_none
from .progress import progress_document

if TYPE_CHECKING:
    from planner.answers.shared.shared_progress import SharedProgress

__all__ = ["SCHEMA", "shared_progress_document"]

SCHEMA = "shared-progress 1"


def shared_progress_document(standing: SharedProgress) -> dict[str, Any]:
    """Return where a shared mosaic stands as a document; keys without ground are absent."""
    last = standing.last_evening
    document = {
        "schema": SCHEMA,
        "filters": [{"name": name, "share": share} for name, share in standing.shares.items()],
        "finished": standing.finished,
        "evening_of_last": last.isoformat() if last else None,
        "costs_so_far": _rounded(standing.cost_so_far),
        "costs_to_come": _rounded(standing.cost_to_come),
        "instruments": [{"name": name, "progress": progress_document(one)} for name, one in standing.named],
    }
    return without_none(document)


def _rounded(cost: dict[str, float]) -> dict[str, float] | None:
    return {currency: round(value, 2) for currency, value in cost.items()} or None

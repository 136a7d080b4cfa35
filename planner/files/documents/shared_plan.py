"""plan.json of a mosaic that several instruments share: each one's plan, and what they cover together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.words import floored

from .json_text import without_none
from .plan import picture_document, plan_document

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import InstrumentPlan, SharedPlan, Together

__all__ = ["SCHEMA", "shared_plan_document"]

SCHEMA = "shared-plan 1"
OVERLAP_DECIMALS = 8


def shared_plan_document(shared: SharedPlan) -> dict[str, Any]:
    """Return a shared mosaic as a document of plain lists, numbers and texts; keys without ground are absent."""
    return {
        "schema": SCHEMA,
        "title": shared.title,
        "picture": picture_document(shared.picture),
        "scale_arcsec_px": shared.finest.whole.request.camera.scale_arcsec_px,
        "scale_of": shared.finest.name,
        "filters": [_together(one) for one in shared.together],
        "instruments": [
            _instrument(one, name) for one, name in zip(shared.instruments, shared.folders, strict=True)
        ],
        "shortfalls": list(shared.shortfalls),
    }


def _together(one: Together) -> dict[str, Any]:
    row = {
        "name": one.filter,
        "instruments": list(one.instruments),
        "covered": one.covered,
        "gap_area_deg2": one.gap_area_deg2,
        "overlap_found": floored(one.overlap_found, OVERLAP_DECIMALS),
    }
    return without_none(row)


def _instrument(one: InstrumentPlan, folder: str) -> dict[str, Any]:
    return {
        "name": one.name,
        "folder": folder,
        "filters": list(one.instrument.filters),
        "panels": list(one.panels),
        "plan": plan_document(one.whole),
    }

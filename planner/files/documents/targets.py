"""targets.json: what a setup can frame in a season, as one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .json_text import json_text

if TYPE_CHECKING:
    from planner.answers.targets.target import Target, TargetList

__all__ = ["SCHEMA", "target_rows", "targets_document", "targets_json_bytes"]

SCHEMA = "targets 1"


def targets_document(found: TargetList) -> dict[str, Any]:
    """Return a list of targets as a document of plain lists, numbers and texts, ranked as it was asked for.

    Keys without ground are absent: ``parts`` of a single nebula, what belongs to a present angle or to prices.
    """
    document = {"schema": SCHEMA, "targets": target_rows(found), "now_deg": found.now_deg}
    return {key: value for key, value in document.items() if value is not None}


def target_rows(found: TargetList) -> list[dict[str, Any]]:
    """Return one row for each target."""
    return [_target(one) for one in found.targets]


def _target(one: Target) -> dict[str, Any]:
    row = {
        "name": one.name,
        "names": list(one.names),
        "kind": one.kind,
        "parts": list(one.parts) or None,
        "center_deg": list(one.center_deg),
        "margin_arcmin": one.margin_arcmin,
        "position_angle_deg": one.position_angle_deg,
        "fits_at_deg": [list(stretch) for stretch in one.fits_at_deg],
        "margin_now_arcmin": one.margin_now_arcmin,
        "area_deg2": one.area_deg2,
        "hours": {name: round(hours, 6) for name, hours in one.hours.items()},
        "greatest_altitude_deg": round(one.greatest_altitude_deg, 4),
        "panels": one.panels,
        "panels_now": one.panels_now,
        "cost": None if one.cost is None else round(one.cost, 2),
        "planned_as": one.planned_as,
    }
    return {key: value for key, value in row.items() if value is not None}


def targets_json_bytes(found: TargetList) -> bytes:
    """Return the content of targets.json."""
    return json_text(targets_document(found)).encode()

"""targets.json: what a setup can frame in a season, as one document."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .json_text import without_none

if TYPE_CHECKING:
    from planner.answers.serving import AngleService
    from planner.answers.targets.target import Target, TargetList

__all__ = ["SCHEMA", "target_rows", "targets_document"]

SCHEMA = "targets 1"


def targets_document(found: TargetList, service: AngleService | None = None) -> dict[str, Any]:
    """Return a list of targets as a document of plain lists, numbers and texts, ranked as it was asked for.

    Keys without ground are absent: ``parts`` of a single nebula, what belongs to a present angle or to prices.

    Parameters
    ----------
    found : TargetList
    service : AngleService, optional
        What angles serve of it.
    """
    document = {"schema": SCHEMA, "targets": target_rows(found), "now_deg": found.now_deg}
    if service is not None:
        document |= _serving(service, found.nights.evenings)
    return without_none(document)


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
    return without_none(row)


def _serving(service: AngleService, evenings: Sequence[dt.date] = ()) -> dict[str, Any]:
    """Return ``served``, ``best`` and, where hours are known, ``turn``.

    Keys without ground are absent: readings without an angle device, ``turn`` for a camera that cannot be turned.

    Parameters
    ----------
    service : AngleService
    evenings : sequence of date
        The season's.
    """
    keys: dict[str, Any] = {
        "served": [[angle, _number(value)] for angle, value in service.curve.steps],
        "best": [
            _with_readings(
                {"angles_deg": list(row.angles_deg)}, row.readings_deg, {"served": _number(row.served)}
            )
            for row in service.best
        ],
    }
    if service.turn is not None and evenings:
        turn = service.turn
        hours = {
            "hours": turn.hours,
            "targets": turn.targets,
            "hours_without": turn.hours_without,
            "without_deg": turn.angle_without_deg,
        }
        start = {"evening": evenings[turn.evening].isoformat(), "angles_deg": list(turn.angles_deg)}
        keys["turn"] = _with_readings(start, turn.readings_deg, hours)
    return keys


def _with_readings(
    start: dict[str, Any], readings_deg: Sequence[float], rest: dict[str, Any]
) -> dict[str, Any]:
    return start | ({"readings_deg": list(readings_deg)} if readings_deg else {}) | rest


def _number(value: float) -> float | int:
    """Return a count as a whole number."""
    return int(value) if value == int(value) else value

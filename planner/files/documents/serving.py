"""What camera angles serve, as keys of a document."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.answers.serving import AngleService

__all__ = ["serving_keys"]


def serving_keys(service: AngleService, evenings: Sequence[dt.date] = ()) -> dict[str, Any]:
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

"""which-angle.json: panels and overlap against camera angle, as one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.answers.which_angle.curve import AngleCount, AngleCurve

__all__ = ["SCHEMA", "which_angle_document"]

SCHEMA = "which-angle 1"


def which_angle_document(curve: AngleCurve) -> dict[str, Any]:
    """Return a curve as a document; an angle that has not been planned has no ``overlap_found``.

    Position angles are degrees east of north, modulo 180 (90 for a square sensor), from the start of the range
    on.
    """
    return {
        "schema": SCHEMA,
        "title": curve.title,
        "angles": [_angle(one) for one in curve.angles],
        "best_position_angle_deg": curve.best.position_angle_deg,
    }


def _angle(one: AngleCount) -> dict[str, Any]:
    row: dict[str, Any] = {"position_angle_deg": one.position_angle_deg, "panels": one.panels}
    if one.overlap_found is not None:
        row["overlap_found"] = one.overlap_found
    return {**row, "proven": one.proven}

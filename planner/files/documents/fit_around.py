"""fit-around.json: groups of nebulae that fit one frame with a named one, as one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.answers.fit_around import AroundAnswer, GroupAround

__all__ = ["SCHEMA", "fit_around_document"]

SCHEMA = "fit-around 1"
ARCMIN = 3437.746770784939
"""Arc minutes in a radian of the tangent plane."""


def fit_around_document(answer: AroundAnswer) -> dict[str, Any]:
    """Return the groups as a document of plain lists, numbers and texts, the most worthy first."""
    return {
        "schema": SCHEMA,
        "around": answer.name,
        "setup": answer.setup,
        "field_deg": [answer.field.width_deg, answer.field.height_deg],
        "margin_alone_arcmin": answer.margin_alone_arcmin,
        "candidates": answer.candidates,
        "looked_at": answer.looked_at,
        "complete": answer.complete,
        "groups": [_group(one) for one in answer.groups],
    }


def _group(one: GroupAround) -> dict[str, Any]:
    left, right, top, bottom = (ARCMIN * room for room in one.placement.rooms)
    return {
        "parts": [member.name for member in one.members],
        "area_deg2": one.area_deg2,
        "margin_arcmin": one.margin_arcmin,
        "center_deg": list(one.placement.center_deg),
        "position_angle_deg": one.placement.position_angle_deg,
        "margins_arcmin": {"top": top, "bottom": bottom, "left": left, "right": right},
    }

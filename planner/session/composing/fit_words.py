"""What one press has fitted, in words: how far the frame or the picture moved and turned, and what it comes to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from planner.answers.margin_words import rounded_margin
from planner.geometry import separation_rad, sky_to_vector, wrapped_deg
from planner.mosaic.orientation import Orientation
from planner.request.picture import smallest_picture
from planner.request.request import PictureRequest
from planner.words import counted

if TYPE_CHECKING:
    from planner.answers.plan import Draft
    from planner.request.request import Request

__all__ = ["frame_words", "picture_words"]

STAYS_ARCMIN, STAYS_DEG = 0.05, 0.005
"""Less is told as none."""


def frame_words(plan: Draft, panel: Mapping[str, Any], margin_arcmin: float) -> str:
    """Say where the one frame stands now, and how far it went.

    Parameters
    ----------
    plan : Draft
        As it was shown before.
    panel : mapping
        The frame: ``ra_deg``, ``dec_deg``, ``position_angle_deg``.
    margin_arcmin : float
        That it leaves about everything.
    """
    angle_deg, panels = float(panel["position_angle_deg"]), plan.mosaic.panels
    now = f"One frame at {angle_deg:.2f}\u00b0 leaves {rounded_margin(max(0.0, margin_arcmin))}\u2032 on all sides"
    if len(panels) != 1:
        return f"{now}, in place of {counted(len(panels), 'panel')}."
    before = panels[0]
    places = (sky_to_vector(one[0], one[1]) for one in ((before.ra_deg, before.dec_deg), _place(panel)))
    moved = 60.0 * math.degrees(float(separation_rad(*places)))
    turned = float(wrapped_deg(angle_deg - before.position_angle_deg, plan.mosaic.field.period_deg))
    return f"{now}: {_went(moved, turned)}."


def _place(panel: Mapping[str, Any]) -> tuple[float, float]:
    return float(panel["ra_deg"]), float(panel["dec_deg"])


def _went(moved_arcmin: float, turned_deg: float) -> str:
    moves = f"moved by {moved_arcmin:.1f}\u2032" if moved_arcmin >= STAYS_ARCMIN else ""
    turns = f"turned by {turned_deg:+.2f}\u00b0" if abs(turned_deg) >= STAYS_DEG else ""
    return " and ".join(part for part in (moves, turns) if part) or "it stood so already"


def picture_words(plan: Draft, request: Request, angle_deg: float) -> str:
    """Say by how much the picture turned, and its size before and after.

    Parameters
    ----------
    plan : Draft
        As it was shown before.
    request : Request
        What the plan file said before.
    angle_deg : float
        Position angle of the picture now.
    """
    before = plan.picture
    asked = replace(request, picture=request.picture or PictureRequest())
    after = smallest_picture(asked, plan.mosaic.region, Orientation.common(angle_deg))
    turned = float(wrapped_deg(angle_deg - before.position_angle_deg, 180.0))
    if abs(turned) < STAYS_DEG:
        return f"The picture stands at {angle_deg:.2f}\u00b0, as it did."
    return (
        f"The picture stands at {angle_deg:.2f}\u00b0, turned by {turned:+.2f}\u00b0: {after.width_deg:.2f} x "
        f"{after.height_deg:.2f} degrees instead of {before.width_deg:.2f} x {before.height_deg:.2f}."
    )

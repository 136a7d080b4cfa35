"""One form of region turned into another that covers about the same sky."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.errors import InputError
from planner.geometry import plane_to_vector, vector_to_sky
from planner.mosaic.region import Region

from .gestures import Edits, region_edits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.answers.plan import Plan
    from planner.request.picture import Picture

__all__ = ["FORMS", "convert_region", "full_picture_edits"]

FORMS = ("rectangle", "circle", "outline")
MOST_KEPT = 24
"""An outline with more corners is simplified to about so many, so that a hand can move them."""


def convert_region(plan: Plan, form: str) -> Edits:
    """Return the edits that make the region a rectangle (the picture), its circle, or an outline.

    Raises
    ------
    InputError
        If there is no such form.
    """
    if form == "rectangle":
        return _rectangle(plan.picture)
    region = plan.region
    if form == "circle":
        radius_deg = min(35.0, math.degrees(region.radius_rad))
        return _without_margin(center=_pair(region.center_deg), radius_deg=round(radius_deg + 5e-5, 4))
    if form == "outline":
        if region.rings_deg != (region.outline_deg,):
            region = Region(region.outline_deg)  # of several pieces: all together
        corners = np.asarray(_simplified(region.polygon).exterior.coords)[:-1]
        ra_deg, dec_deg = vector_to_sky(plane_to_vector(corners, region.basis))
        return _without_margin(outline=[_pair(pair) for pair in zip(ra_deg, dec_deg, strict=True)])
    raise InputError(f"the form must be one of {', '.join(FORMS)}, got {form!r}; choose one")


def full_picture_edits(plan: Plan) -> Edits:
    """Return the edits that make the largest full picture the picture: the region is that rectangle then.

    Raises
    ------
    InputError
        If the panels give no full picture.
    """
    full = plan.full_picture
    if full is None:
        raise InputError("the panels give no full picture; plan some that touch each other")
    return _rectangle(full.picture) | {"mosaic.position_angle_deg": round(full.picture.position_angle_deg, 2)}


def _rectangle(picture: Picture) -> Edits:
    angle = round(picture.position_angle_deg, 2)
    edits = _without_margin(
        center=_pair(picture.center_deg),
        width_deg=round(picture.width_deg, 4),
        height_deg=round(picture.height_deg, 4),
        position_angle_deg=angle or None,
    )
    return edits | {"picture.position_angle_deg": angle}


def _simplified(polygon: shapely.Polygon) -> shapely.Polygon:
    tolerance = polygon.length / 20_000
    while len(polygon.exterior.coords) - 1 > MOST_KEPT:
        polygon = polygon.simplify(tolerance)
        tolerance *= 1.5
    return polygon


def _without_margin(**keys: object) -> Edits:
    """Return the edits by which the present region, margin and all, becomes the new one."""
    return region_edits(**keys) | {"region.margin_arcmin": None}


def _pair(position: Sequence[float]) -> list[float]:
    return [round(float(position[0]), 5) % 360.0, round(float(position[1]), 5)]

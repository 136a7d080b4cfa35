"""Fitting by one press: the frame about everything, or the picture turned until it is as small as it can be."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize_scalar

from planner.answers.fit import ARCMIN, FieldFit, allowed_arcs, fit_field
from planner.answers.margin_words import shortage
from planner.answers.settle import unsettled_tables
from planner.errors import InputError
from planner.files.plan_file.reshoot import LAYOUT_KEYS
from planner.mosaic.fit import Opening, Placement, Shape, placement_at
from planner.mosaic.orientation import Orientation
from planner.request.picture import smallest_picture
from planner.request.request import PictureRequest

from .gestures import ANGLE_DECIMALS, Edits
from .scene import angles_agree

if TYPE_CHECKING:
    from planner.answers.plan import Draft
    from planner.mosaic.region import Region
    from planner.request.request import Request

__all__ = ["best_picture_angle", "frame_edits", "frame_fit", "frame_placement", "picture_edits"]

DECIMALS = 6
"""Of a frame's centre and angle, degrees: 4 milliarcseconds."""
STEP_DEG, TRIED = 1.0, 3
"""Angles of the picture are tried so closely; about so many of the best the smallest is sought."""
FITS_LESS = 1.001
"""A circle about everything may be larger than the frame's own by this, and no more, for a fit to be sought."""


def frame_fit(request: Request, region: Region) -> FieldFit | None:
    """Return how well a region fits one frame; None where it is plainly too large.

    Parameters
    ----------
    request : Request
    region : Region
        With its margins.
    """
    field = request.camera.field
    frame_rad = math.atan(math.hypot(field.half_width, field.half_height))
    shape = Shape.around([region.outline_vectors])
    if shape.radius_rad > FITS_LESS * frame_rad:
        return None
    return fit_field(shape, field, allowed_arcs(request), prove=False)


def frame_placement(request: Request, region: Region, angle_deg: float | None = None) -> Placement:
    """Return where the one frame about everything leaves the largest margin.

    Parameters
    ----------
    request : Request
    region : Region
        With its margins.
    angle_deg : float, optional
        The camera's angle; left out, the best one.

    Raises
    ------
    InputError
        If one frame does not hold everything, at that angle or at any allowed, or no plane does.
    """
    fit = fit_field(
        Shape.around([region.outline_vectors]), request.camera.field, allowed_arcs(request), prove=False
    )
    if not fit.fits:
        raise InputError(_too_large(request, fit))
    placement = fit.placement
    if angle_deg is not None:
        shape = Shape.around([region.outline_vectors])
        placement = placement_at(shape, Opening.margins(request.camera.field), math.radians(angle_deg))
    if placement.room < 0:
        raise InputError(
            f"at {angle_deg:g} degrees {shortage(placement.room * ARCMIN)} arc minutes would be cut; choose an angle "
            f"such as {fit.placement.position_angle_deg:.1f}"
        )
    return placement


def frame_edits(placement: Placement) -> Edits:
    """Return the edits that make a frame the one panel, where it was found to stand."""
    ra_deg, dec_deg = placement.center_deg
    angle = round(placement.position_angle_deg, DECIMALS)
    panel = {
        "name": "A1",
        "ra_deg": round(ra_deg, DECIMALS) % 360.0,
        "dec_deg": round(dec_deg, DECIMALS),
        "position_angle_deg": angle,
    }
    layout = {f"mosaic.{key}": None for key in LAYOUT_KEYS}
    return layout | unsettled_tables({}) | {"mosaic.position_angle_deg": angle, "panels": [panel]}


def _too_large(request: Request, fit: FieldFit) -> str:
    longest = request.camera.focal_length_mm / fit.scale
    return (
        f"it does not fit one frame: at best, at {fit.placement.position_angle_deg:.1f} degrees, "
        f"{shortage(fit.margin_arcmin)} arc minutes are cut; a focal length of {math.floor(longest)} mm would hold "
        "it; take a part out, make margins smaller, or let panels be laid out"
    )


def picture_edits(plan: Draft, request: Request) -> Edits:
    """Return the edits that turn the picture until it is the smallest about everything, of its proportions.

    Panels that are square with the picture turn along.

    Parameters
    ----------
    plan : Draft
        The plan as shown.
    request : Request
        What the plan file says now.
    """
    present = plan.picture.position_angle_deg
    angle = best_picture_angle(request, plan.mosaic.region, near_deg=present)
    angle = round(angle, ANGLE_DECIMALS) % 360.0
    edits: Edits = {"picture.position_angle_deg": angle}
    panels = request.mosaic.position_angle_deg
    if panels is not None and not request.panels and angles_agree(panels, present):
        edits["mosaic.position_angle_deg"] = angle
    return edits


def best_picture_angle(request: Request, region: Region, near_deg: float = 0.0) -> float:
    """Return the angle, degrees, at which the smallest picture about a region is smallest.

    Found to a hundredth of a degree about the best of whole degrees.

    Parameters
    ----------
    request : Request
    region : Region
    near_deg : float
        Of the angles that mean the same picture, the nearest to this is returned.
    """
    asked = replace(request, picture=request.picture or PictureRequest())

    def area(angle_deg: float) -> float:
        found = smallest_picture(asked, region, Orientation.common(angle_deg))
        return found.width_deg * found.height_deg

    period = 180.0 if asked.picture and asked.picture.aspect else 90.0
    angles = near_deg + np.arange(0.0, period, STEP_DEG)
    order = np.argsort([area(angle) for angle in angles])[:TRIED]
    found = [
        minimize_scalar(area, bounds=(angle - STEP_DEG, angle + STEP_DEG), options={"xatol": 0.002})
        for angle in angles[order].tolist()
    ]
    best = min(found, key=lambda one: float(one.fun)).x
    return near_deg + float((best - near_deg + period / 2) % period - period / 2)

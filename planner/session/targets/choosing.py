"""A target becomes the plan: as the region, a group as its parts, at the camera angle that was looked at."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.answers.settle import unsettled_tables
from planner.checks import LONGEST_TITLE
from planner.files.plan_file.reshoot import LAYOUT_KEYS
from planner.request.panels import PanelRequest
from planner.request.region import RegionRequest
from planner.request.request import MosaicRequest
from planner.session.gestures import ANGLE_DECIMALS, Edits, region_edits

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.answers.targets.target import Target
    from planner.request.request import Request

__all__ = ["nights_of", "target_edits"]

POINT_DEG = 0.01
"""Radius of a region that stands for a frame's middle."""


def target_edits(target: Target, angle_deg: float | None) -> Edits:
    """Return the edits that make a target the region, and the title, of a plan; listed and settled panels go.

    Parameters
    ----------
    target : Target
    angle_deg : float or None
        The camera's angle from now on; None leaves it as it is.
    """
    region = region_edits(objects=list(target.parts)) if target.is_group else region_edits(object=target.name)
    angle = {} if angle_deg is None else {"mosaic.position_angle_deg": round(angle_deg, ANGLE_DECIMALS)}
    layout = {f"mosaic.{key}": None for key in LAYOUT_KEYS}
    return {"title": target.name[:LONGEST_TITLE]} | region | unsettled_tables({}) | layout | angle


def nights_of(request: Request, target: Target) -> NightsPlan:
    """Return the nights of one frame on a target, without a timetable."""
    from planner.answers.nights import plan_nights
    from planner.answers.plan import make_plan

    frame = PanelRequest(target.name, *target.center_deg, target.position_angle_deg)
    asked = replace(
        request,
        title=target.name,
        region=RegionRequest(center=target.center_deg, radius_deg=POINT_DEG),
        mosaic=MosaicRequest(),
        picture=None,
        panels=(frame,),
        settled=None,
        filters=(),
    )
    return plan_nights(make_plan(asked))

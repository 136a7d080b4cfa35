"""Panels in rows: how many a target needs at an angle, or at its best, counted as if the sky were flat."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.answers.find_region import SourcedRegion
from planner.answers.plan import layout_of, terms_of
from planner.mosaic.region import Region
from planner.request.request import MosaicRequest, Request, Setup

from .target import Arc

__all__ = ["rows_needed"]

STEP_DEG = 3.0


def rows_needed(
    setup: Setup, request: Request, region: Region, angle_deg: float | None, arcs: tuple[Arc, ...] | None
) -> int:
    """Return how many panels sliding rows need, with the setup's overlap and errors of its mount.

    Parameters
    ----------
    setup : Setup
    request : Request
        Of the target with this setup.
    region : Region
    angle_deg : float or None
        Camera angle; None for the one, of those in reach, that needs the fewest.
    arcs : tuple of (float, float) or None
        First angle and span that the device reaches; None where all are.
    """
    from planner.mosaic.choose import search_task
    from planner.mosaic.search.hints import rows_at

    asked = setup.mosaic or MosaicRequest()
    plain = replace(
        asked,
        angles=1,
        layout="free",
        columns=None,
        rows=None,
        position_angle_deg=None,
        position_angle_range_deg=None,
    )
    request = replace(request, mosaic=plain)
    task = search_task(region, terms_of(request), layout_of(request, SourcedRegion(region), "quick"))
    angles = (
        np.array([angle_deg]) if angle_deg is not None else _angles(arcs, request.camera.field.period_deg)
    )
    return int(rows_at(task, angles).min())


def _angles(arcs: tuple[Arc, ...] | None, period_deg: float) -> NDArray[np.float64]:
    """Angles a few degrees apart, and the ends of arcs."""
    if arcs is None:
        return np.arange(0.0, period_deg, STEP_DEG)
    return np.concatenate(
        [np.unique([*np.arange(0.0, span, STEP_DEG), span]) + start for start, span in arcs]
    )

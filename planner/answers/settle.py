"""Settled panels: from a plan to what its file keeps, and what to know where the request has changed since."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planner.mosaic.mosaic import Axes
from planner.request.panels import PanelRequest
from planner.request.settled import panels_mark

from .plan import Plan

__all__ = ["settled_tables", "unsettled_tables"]

DECIMALS = 10


def settled_tables(plan: Plan) -> dict[str, Any]:
    """Return the tables that keep a plan's panels: ``panels`` and ``settled``, as a plan file has them.

    Exposures that the plan file lists for a panel stay with it.
    """
    mosaic, listed = plan.mosaic, {one.name: one for one in plan.request.panels}
    panels = [
        PanelRequest(
            panel.name,
            round(panel.ra_deg, DECIMALS) % 360.0,
            round(panel.dec_deg, DECIMALS),
            round(panel.position_angle_deg, DECIMALS) % 360.0,
            panel.order,
            listed[panel.name].exposures if panel.name in listed else None,
        )
        for panel in mosaic.panels
    ]
    settled: dict[str, Any] = {
        "words": f"{len(panels)} panels, overlap {100 * mosaic.overlap_found:.1f} per cent",
        **plan.request.marks,
        "panels": panels_mark(panels),
        "panel_count_bound": mosaic.panel_count_bound,
    }
    if mosaic.axes is not None:
        settled["axes_deg"] = [*_rounded(mosaic.axes)]
    return {"panels": [_table(one) for one in panels], "settled": settled}


def unsettled_tables() -> dict[str, Any]:
    """Return the change of a plan file that lets its settled panels go."""
    return {"panels": None, "settled": None}


def _rounded(axes: Axes) -> Iterator[float]:
    yield from (round(value, DECIMALS) for value in (axes.ra_deg, axes.dec_deg, axes.position_angle_deg))


def _table(panel: PanelRequest) -> dict[str, Any]:
    table = {
        "name": panel.name,
        "order": panel.order,
        "ra_deg": panel.ra_deg,
        "dec_deg": panel.dec_deg,
        "position_angle_deg": panel.position_angle_deg,
    }
    return table if panel.exposures is None else {**table, "exposures": dict(panel.exposures)}

"""How many exposures each panel wants through each filter."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.plan import Plan

__all__ = ["exposures_wanted"]


def exposures_wanted(plan: Plan) -> list[list[int]]:
    """Return the exposures of each panel through each filter, in the plan's own sequences.

    Panels that a plan file lists may want numbers of their own, 0 among them.
    """
    listed = {one.name: one for one in plan.request.panels}
    filters = plan.request.filters
    return [
        [
            listed[panel.name].wanted(one.name, one.exposures) if panel.name in listed else one.exposures
            for one in filters
        ]
        for panel in plan.mosaic.panels
    ]

"""The request that asks for rows where a request leaves places or angle to a search: quickly laid out and proven."""

from __future__ import annotations

from dataclasses import replace

from planner.request.request import Request

__all__ = ["in_rows"]


def in_rows(request: Request) -> Request:
    """Return the request with panels in sliding rows, at its angle or the one at which rows promise the fewest.

    A grid that is asked for stays a grid.

    Raises
    ------
    InputError
        If the region cannot be found.
    """
    from planner.mosaic.choose import search_task
    from planner.mosaic.search.hints import hint_angles, row_counts

    from .find_region import find_region
    from .plan import layout_of, terms_of

    sourced, asked = find_region(request.region), request.mosaic
    layout = layout_of(request, sourced, "quick")
    angle_deg = layout.angle_deg
    if angle_deg is None:
        task = search_task(sourced.region, terms_of(request), layout)
        angle_deg = hint_angles(task, *row_counts(task))[0] % task.angles.period_deg
    mosaic = replace(
        asked,
        layout="grid" if asked.layout == "grid" else "sliding",
        position_angle_deg=angle_deg,
        position_angle_range_deg=None,
    )
    return replace(request, mosaic=mosaic)

"""Laying out a mosaic: a region, terms and a layout in; a proven mosaic out."""

from __future__ import annotations

import math
from dataclasses import replace

from planner.errors import InputError
from planner.progress import Progress

from .kept_memory import keep_freed_memory
from .layout.lay_out import closest_layout, lay_out, orientation_for
from .layout.one_by_one import may_save_panels, panels_one_by_one
from .mosaic import Mosaic
from .proof.prove import area_bound, mosaic_from_centers
from .region import Region
from .terms import Layout, Terms

__all__ = ["MOST_PANELS", "build_mosaic", "refuse_too_many"]

MOST_PANELS = 20_000


def build_mosaic(region: Region, terms: Terms, layout: Layout, *, progress: Progress | None = None) -> Mosaic:
    """Lay out panels and prove them.

    Parameters
    ----------
    region : Region
    terms : Terms
    layout : Layout
    progress : callable, optional

    Raises
    ------
    InputError
        If the region needs more than 20,000 panels.
    """
    refuse_too_many(region, terms)
    keep_freed_memory()
    mosaic = _built(region, terms, layout, progress)
    if layout.columns is not None or layout.several_angles or not may_save_panels(region, mosaic):
        return mosaic
    return _with_parts_one_by_one(region, terms, layout, mosaic, progress)


def _with_parts_one_by_one(
    region: Region, terms: Terms, layout: Layout, mosaic: Mosaic, progress: Progress | None
) -> Mosaic:
    """Return a mosaic, or that of its region's parts planned one by one at its angle if they need fewer panels."""
    axes = mosaic.axes
    angle_deg = axes.position_angle_deg if axes else mosaic.panels[0].position_angle_deg
    pinned = replace(layout, angle_deg=angle_deg, angle_range_deg=None, measure=False)
    orientation = orientation_for(region, layout.angles, angle_deg)

    def tell(what: str, share: float) -> None:
        if progress is not None:
            progress(f"parts one by one: {what}", share)

    def plan(part: Region) -> Mosaic:
        return _built(part, terms, pinned, tell)

    centers = panels_one_by_one(region, orientation, terms.layout_demands, plan)
    if centers is None or len(centers) >= len(mosaic.panels):
        return mosaic
    return mosaic_from_centers(
        region, terms, layout, orientation, centers, panel_count_bound=mosaic.panel_count_bound
    )


def _built(region: Region, terms: Terms, layout: Layout, progress: Progress | None) -> Mosaic:
    """Lay out and prove the panels of a region as one."""
    if layout.angle_deg is None or (layout.kind == "free" and layout.columns is None):
        from .choose import choose_layout

        return choose_layout(region, terms, layout, progress=progress)
    orientation = orientation_for(region, layout.angles, layout.angle_deg)
    try:
        centers = lay_out(region, terms, layout, orientation)
    except InputError:
        centers = closest_layout(region, terms, orientation)
    fixed = len(centers) if layout.columns is not None else None
    return mosaic_from_centers(region, terms, layout, orientation, centers, panel_count_bound=fixed)


def refuse_too_many(region: Region, terms: Terms) -> None:
    """Refuse a region that needs more panels than can be planned."""
    least = area_bound(region, terms)
    a, b = terms.demands[0].core
    likely = region.area_deg2 / (4 * math.degrees(a) * math.degrees(b))
    if max(least, 0.8 * likely) > MOST_PANELS:
        raise InputError(
            f"the region needs about {max(least, round(likely)):,} panels, more than the {MOST_PANELS:,} that "
            "can be planned; make the region smaller or the field larger"
        )

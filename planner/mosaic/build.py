"""Laying out a mosaic: a region, terms and a layout in; a proven mosaic out."""

from __future__ import annotations

import math

from planner.errors import InputError
from planner.progress import Progress

from .layout.lay_out import closest_layout, lay_out, orientation_for
from .mosaic import Mosaic
from .proof.prove import area_bound, mosaic_from_centers
from .region import Region
from .terms import Layout, Terms

__all__ = ["MOST_PANELS", "build_mosaic"]

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
    _refuse_too_many(region, terms)
    if layout.angle_deg is None or (layout.kind == "free" and layout.columns is None):
        from .choose import choose_layout

        return choose_layout(region, terms, layout, progress=progress)
    orientation = orientation_for(region, layout.turns, layout.angle_deg)
    try:
        centers = lay_out(region, terms, layout, orientation)
    except InputError:
        centers = closest_layout(region, terms, orientation)
    fixed = len(centers) if layout.columns is not None else None
    return mosaic_from_centers(region, terms, layout, orientation, centers, panel_count_bound=fixed)


def _refuse_too_many(region: Region, terms: Terms) -> None:
    least = area_bound(region, terms)
    a, b = terms.demands[0].core
    likely = region.area_deg2 / (4 * math.degrees(a) * math.degrees(b))
    if max(least, 0.8 * likely) > MOST_PANELS:
        raise InputError(
            f"the region needs about {max(least, round(likely)):,} panels, more than the {MOST_PANELS:,} that "
            "can be planned; make the region smaller or the field larger"
        )

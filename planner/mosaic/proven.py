"""From panels to a proven mosaic."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import shapely

from planner.geometry import plane_to_vector, sky_frame

from .demand import Demand
from .mosaic import Axes, Mosaic
from .overlap import largest_box
from .panel import Panel, panel_frames
from .proof import Cover, Gap
from .region import Region
from .seams import find_seams
from .terms import Terms

__all__ = ["area_bound", "prove"]

ARCMIN = math.radians(1 / 60)


def prove(
    region: Region,
    terms: Terms,
    panels: Sequence[Panel],
    *,
    turns: Literal["common", "per_panel"] | int = "common",
    axes: Axes | None = None,
    panel_count_bound: int | None = None,
    measure: bool = True,
) -> Mosaic:
    """Measure what panels of any origin give over a region: gaps, overlap, overlap after errors, seams.

    Parameters
    ----------
    region : Region
    terms : Terms
    panels : sequence of Panel
    turns, axes : as in `Mosaic`
    panel_count_bound : int, optional
        Left out, what the region's area needs.
    measure : bool
        Left out, a plan that gives what was asked is only proven to, which is quicker: the overlaps found are those
        asked for. One that falls short is measured all the same.
    """
    cover = Cover(region, panel_frames(panels))
    if measure or cover.first_gap(terms.demands):
        found, gap, after, gap_after = _measured(cover, terms)
    else:
        gap = gap_after = Gap(region, shapely.Polygon())
        found, after = terms.overlap_asked, terms.least_overlap_arcmin if terms.has_errors else None
    return Mosaic(
        region=region,
        field=terms.field,
        panels=tuple(panels),
        turns=turns,
        axes=axes,
        overlap_asked=terms.overlap_asked,
        overlap_found=found,
        overlap_after_errors_arcmin=after,
        gap_area_deg2=gap.area_deg2,
        gap_after_errors_deg2=gap_after.area_deg2,
        panel_count_bound=panel_count_bound or area_bound(region, terms),
        seams=find_seams(region, panels, terms.field),
        gap_center_deg=gap.center_deg or gap_after.center_deg,
        least_overlap_arcmin=terms.least_overlap_arcmin,
    )


def area_bound(region: Region, terms: Terms) -> int:
    """Panels that the region's area alone needs; each point must lie in the kept part of some panel."""
    per_panel = terms.field.area_deg2
    if terms.has_errors:
        outline = Region.from_vectors(plane_to_vector(terms.kept, sky_frame(0.0, 0.0, 0.0)))
        per_panel = min(per_panel, outline.area_deg2)
    return max(1, math.ceil(region.area_deg2 / per_panel * (1 - 1e-9)))


def _measured(cover: Cover, terms: Terms) -> tuple[float, Gap, float | None, Gap]:
    """Overlap found and gap, overlap in arc minutes and gap after errors."""
    shape = terms.demands[0].shape
    found = largest_box(cover, shape, terms.unit_box, expected=terms.overlap_asked, cap=1.0)
    gap = _gap_unless(found > 0, cover, shape)
    return 0.0 if gap else found, gap, *_after_errors(cover, terms, gap)


def _gap_unless(covered: bool, cover: Cover, shape: tuple[tuple[float, float], ...]) -> Gap:
    """What no panel of a shape covers; nothing where boxes are known to fit everywhere."""
    return Gap(cover.region, shapely.Polygon()) if covered else cover.gap(Demand(shape, (0.0, 0.0)))


def _after_errors(cover: Cover, terms: Terms, gap: Gap) -> tuple[float | None, Gap]:
    """Overlap in arc minutes that is left after all errors, and the gap that they open."""
    if not terms.has_errors:
        return None, gap
    half = math.tan(ARCMIN / 2)
    half_size = Demand(terms.kept, (0.0, 0.0)).half_size
    expected = math.tan(terms.least_overlap_arcmin * ARCMIN / 2) / half
    found = largest_box(cover, terms.kept, (half, half), expected=expected, cap=min(half_size) / half)
    gap_after = _gap_unless(found > 0, cover, terms.kept)
    return 0.0 if gap_after else found, gap_after

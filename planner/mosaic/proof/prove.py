"""From panels to a proven mosaic."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, sky_basis, steady, wrapped_deg
from planner.mosaic.demand import Demand
from planner.mosaic.mosaic import Axes, Mosaic
from planner.mosaic.naming import named_panels, ordered_by_angle
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Panel, own_shapes, panel_bases
from planner.mosaic.region import Region
from planner.mosaic.seams import find_seams
from planner.mosaic.terms import Layout, Terms

from .cover import Cover, Gap
from .largest_box import largest_box

__all__ = ["mosaic_from_centers", "area_bound", "panels_at", "prove"]

ARCMIN = math.radians(1 / 60)


def prove(
    region: Region,
    terms: Terms,
    panels: Sequence[Panel],
    *,
    angles: int | Literal["per_panel"] = 1,
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
    angles, axes : as in `Mosaic`
    panel_count_bound : int, optional
        Left out, what the region's area needs.
    measure : bool
        Left out, a plan that gives what was asked is only proven to, which is quicker: the overlaps found are those
        asked for. One that falls short is measured all the same.
    """
    cover = Cover(region, panel_bases(panels), own_shapes(panels))
    if measure or cover.first_gap(terms.demands):
        found, gap, after, gap_after = _measured(cover, terms)
    else:
        gap = gap_after = Gap(region, shapely.Polygon())
        found, after = terms.overlap_asked, terms.least_overlap_arcmin if terms.has_errors else None
    return Mosaic(
        region=region,
        field=terms.field,
        panels=tuple(panels),
        angles=angles,
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
        outline = Region.from_vectors(plane_to_vector(terms.kept, sky_basis(0.0, 0.0, 0.0)))
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
    half = steady.tan(ARCMIN / 2)
    half_size = Demand(terms.kept, (0.0, 0.0)).half_size
    expected = steady.tan(terms.least_overlap_arcmin * ARCMIN / 2) / half
    found = largest_box(cover, terms.kept, (half, half), expected=expected, cap=min(half_size) / half)
    gap_after = _gap_unless(found > 0, cover, terms.kept)
    return 0.0 if gap_after else found, gap_after


def mosaic_from_centers(
    region: Region,
    terms: Terms,
    layout: Layout,
    orientation: Orientation,
    centers: NDArray[np.float64],
    *,
    angles_deg: NDArray[np.float64] | None = None,
    panel_count_bound: int | None = None,
) -> Mosaic:
    """Name panels at these centres and prove them; their position angles are the orientation's if not given."""
    per_panel = layout.angles == "per_panel"
    return prove(
        region,
        terms,
        panels_at(region, terms, layout, orientation, centers, angles_deg=angles_deg),
        angles=layout.angles,
        axes=Axes(*orientation.origin_deg, orientation.north_angle_deg % 360.0) if per_panel else None,
        panel_count_bound=panel_count_bound,
        measure=layout.measure,
    )


def panels_at(
    region: Region,
    terms: Terms,
    layout: Layout,
    orientation: Orientation,
    centers: NDArray[np.float64],
    *,
    angles_deg: NDArray[np.float64] | None = None,
) -> tuple[Panel, ...]:
    """Return named panels at these centres; their position angles are the orientation's if not given."""
    if angles_deg is None:
        angles_deg = orientation.position_angles_deg(centers)
    up_deg = float(orientation.position_angles_deg(region.basis[2]))
    if layout.picture_angle_deg is not None and abs(wrapped_deg(up_deg - layout.picture_angle_deg)) > 90.0:
        up_deg += 180.0
    picture = Orientation.square_with(*region.center_deg, up_deg)
    panels = named_panels(centers, angles_deg, picture=picture, band_deg=terms.field.height_deg / 2)
    return ordered_by_angle(panels) if layout.several_angles else panels

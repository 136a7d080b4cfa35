"""Growing what has begun: which panels stay, where the others may stand, and what there is to say about it."""

from __future__ import annotations

from planner.geometry import wrapped_deg
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms
from planner.progress import Progress
from planner.request.panels import listed_panels
from planner.request.request import Request

__all__ = ["ALIKE_DEG", "grown_mosaic", "kept_angle_deg", "kept_count", "kept_words"]

ALIKE_DEG = 1e-6
"""Camera angles of panels that differ by less are one."""


def grown_mosaic(
    request: Request, region: Region, terms: Terms, layout: Layout, progress: Progress | None = None
) -> Mosaic:
    """Keep the panels that a plan file keeps, and add the fewest others, at equal count at the kept ones' angle."""
    from planner.mosaic.grow import grow_mosaic  # the search is loaded where there is one

    kept = [one for one in listed_panels(request.panels) if one.kept]
    return grow_mosaic(
        region,
        terms,
        layout,
        kept,
        used_names=(*request.names_used, *(one.name for one in request.panels)),
        present_deg=kept_angle_deg(request),
        progress=progress,
    )


def kept_angle_deg(request: Request) -> float | None:
    """Camera angle of all kept panels, where the others may choose it too; None where they have none in common.

    Ground that frames of another size have shown does not count: the camera does not stand there any more.
    """
    asked, period = request.mosaic, request.camera.field.period_deg
    angles = [one.position_angle_deg for one in request.panels if one.keep and one.field_deg is None]
    filled = request.picture is not None and request.picture.filled  # at the angle of its rectangle
    told = asked.position_angle_deg is not None or request.region.earlier_picture is not None or filled
    if not request.grows or asked.angles != 1 or told or not angles:
        return None
    alike = all(abs(wrapped_deg(angle - angles[0], period)) < ALIKE_DEG for angle in angles)
    return angles[0] if alike and asked.allows_angle(angles[0], period) else None


def kept_count(mosaic: Mosaic) -> int:
    """How many panels of a mosaic stay where they are."""
    return sum(panel.kept for panel in mosaic.panels)


def kept_words(mosaic: Mosaic) -> str:
    """Say how few panels can be added to those that stay, as far as is proven."""
    kept = kept_count(mosaic)
    added, least = len(mosaic.panels) - kept, mosaic.panel_count_bound - kept
    if mosaic.shortfalls:
        return "which fall short"
    if added <= least:
        return "proven fewest"
    return f"no plan that keeps these can add fewer than {max(0, least)}"

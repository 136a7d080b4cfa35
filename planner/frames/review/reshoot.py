"""What to shoot again: exposures that are missing, and panels whose good frames leave a gap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import vector_to_plane
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import panel_corners
from planner.mosaic.proof.cover import Gap
from planner.night.settings import Filter

from .tally import Reshoot, Tally

__all__ = ["all_to_reshoot"]


def all_to_reshoot(
    mosaic: Mosaic, filters: Sequence[Filter], tally: Tally, gap: Gap, filter_gaps: Mapping[str, Gap]
) -> tuple[Reshoot, ...]:
    """Everything to shoot again, in the order of the panels.

    A gap that no missing exposure explains is laid to the planned panel that holds it deepest inside: that
    panel is to be shot anew.

    Parameters
    ----------
    mosaic : Mosaic
    filters : sequence of Filter
        Of the plan.
    tally : Tally
    gap : Gap
        What good frames of any filter leave.
    filter_gaps : mapping
        What good frames of each filter leave; without filters `gap` counts.
    """
    missing = tally.missing()
    grounds = _panel_grounds(mosaic)
    places = {panel.name: number for number, panel in enumerate(mosaic.panels)}
    for one in filters:
        done = {row.panel for row in missing if row.filter == one.name}
        for panel, area in _gap_panels(
            filter_gaps[one.name], grounds, {places[name] for name in done}
        ).items():
            name, count = mosaic.panels[panel].name, tally.wanted(panel, one)
            if count:
                missing.append(Reshoot(name, one.name, count, _gap_text(area)))
    if not filters:
        done = {row.panel for row in missing}
        for panel, area in _gap_panels(gap, grounds, {places[name] for name in done}).items():
            missing.append(Reshoot(mosaic.panels[panel].name, None, None, _gap_text(area)))
    order = {one.name: number for number, one in enumerate(filters)}
    return tuple(sorted(missing, key=lambda row: (places[row.panel], order.get(row.filter or "", 0))))


def _gap_text(area_deg2: float) -> str:
    return f"its good frames leave a gap of {area_deg2:.3g} square degrees"


def _panel_grounds(mosaic: Mosaic) -> NDArray[np.object_]:
    """Planned footprints in the region's tangent plane; empty where behind it."""
    corners = panel_corners(mosaic.panels, mosaic.field)
    seen = (corners @ mosaic.region.basis[2]).min(axis=1) > 0.05
    grounds = np.full(len(corners), shapely.Polygon(), dtype=object)
    grounds[seen] = shapely.polygons(vector_to_plane(corners[seen], mosaic.region.basis))
    return grounds


def _gap_panels(gap: Gap, grounds: NDArray[np.object_], missing: set[int]) -> dict[int, float]:
    """Panels that should cover what missing panels do not explain of a gap: how many square degrees each."""
    if not gap:
        return {}
    explained = shapely.union_all(grounds[sorted(missing)]) if missing else shapely.Polygon()
    found: dict[int, float] = {}
    for part in shapely.get_parts(shapely.difference(gap.shapes, explained)):
        if part.geom_type != "Polygon" or part.buffer(-1e-9).is_empty:
            continue
        point = part.representative_point()
        inside = [n for n in np.flatnonzero(shapely.contains(grounds, point)) if n not in missing]
        if inside:
            deepest = max(inside, key=lambda n: float(shapely.distance(shapely.boundary(grounds[n]), point)))
            found[int(deepest)] = found.get(int(deepest), 0.0) + Gap(gap.region, part).area_deg2
    return found

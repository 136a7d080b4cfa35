"""Panels, region, picture and gap on a map."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.collections import PolyCollection
from numpy.typing import NDArray

from planner.geometry import sky_to_vector
from planner.mosaic.panel import panel_corners

from .map_view import MapView, text_width_pt

if TYPE_CHECKING:
    from planner.mosaic.mosaic import Mosaic

__all__ = ["draw_full_picture", "draw_gap", "draw_panel_names", "draw_panels", "draw_picture", "draw_region"]

SMALLEST_NAME_PT, LARGEST_NAME_PT = 3.4, 11.0
INNER = 0.94
"""Size of the inner line of kept panels, in parts of the outer one."""
REGION_DASHES = (0, (5, 2.2))
PICTURE_DASHES = (0, (11, 2.5, 2, 2.5))


def draw_panels(view: MapView, mosaic: Mosaic) -> None:
    """Panels: translucent fills, so that overlaps show darker, and outlines; double ones where panels stay."""
    parts = view.polygons(list(panel_corners(mosaic.panels, mosaic.field)))
    color = view.palette.panel
    width = float(np.interp(len(parts), [10, 100, 1000], [1.2, 0.8, 0.35]))
    fills = PolyCollection(
        parts, facecolors=color, alpha=view.palette.panel_alpha, linewidths=0, zorder=2.5, gid="panel fill"
    )
    view.axes.add_collection(fills, autolim=False)
    view.outline(parts, "panel", color=color, width=width, zorder=5)
    kept = [panel for panel in mosaic.panels if panel.kept]
    inner = [_shrunk(part) for part in view.polygons(list(panel_corners(kept, mosaic.field)))]
    view.outline(inner, "kept panel", color=color, width=0.8 * width, zorder=5)


def _shrunk(part: NDArray[np.float64]) -> NDArray[np.float64]:
    """Corners (N, 2) a little nearer to their middle: the inner line of a double outline."""
    middle = part.mean(axis=0)
    return np.asarray(middle + INNER * (part - middle))


def draw_region(view: MapView, rings: Sequence[NDArray[np.float64]]) -> None:
    """Outlines of the region, dashed: one, or those of all its pieces and holes."""
    parts = view.polygons(rings)
    view.outline(parts, "region", color=view.palette.region, width=1.7, style=REGION_DASHES, zorder=6)


def draw_picture(view: MapView, corners: NDArray[np.float64]) -> None:
    """Rectangle of the finished print, long and short dashes."""
    parts = view.polygons([corners])
    view.outline(parts, "picture", color=view.palette.picture, width=1.5, style=PICTURE_DASHES, zorder=7)


def draw_full_picture(view: MapView, corners: NDArray[np.float64]) -> None:
    """Largest rectangle without an empty corner, a thin line."""
    parts = view.polygons([corners])
    view.outline(parts, "full picture", color=view.palette.picture, width=0.6, style="solid", zorder=6.5)


def draw_gap(view: MapView, mosaic: Mosaic) -> None:
    """Cross on the middle of the largest place that no panel covers."""
    if mosaic.gap_center_deg is None:
        return
    x, y = view.window.project(sky_to_vector(*mosaic.gap_center_deg))
    view.axes.plot(
        [x],
        [y],
        marker="x",
        markersize=13,
        markeredgewidth=2.4,
        color=view.palette.warning,
        zorder=8,
        gid="gap",
    )


def draw_panel_names(view: MapView, mosaic: Mosaic) -> float:
    """Names at the panels' centres; returns their size in points, 0 where they would be too small to read."""
    panels = mosaic.panels
    centers = view.window.project(sky_to_vector([p.ra_deg for p in panels], [p.dec_deg for p in panels]))
    size = _name_size_pt(view, mosaic, centers)
    if size == 0.0:
        return 0.0
    for panel, (x, y) in zip(panels, centers, strict=True):
        if view.window.holds([x, y]):
            view.write(
                panel.name, x, y, size=size, color=view.palette.panel_name, kind="panel name", weight="bold"
            )
            view.taken.append(view.box(x, y, text_width_pt(panel.name, size, weight="bold") + 2, size + 2))
    return size


def _name_size_pt(view: MapView, mosaic: Mosaic, centers: NDArray[np.float64]) -> float:
    """Type size that fits the panels and the distance between their centres."""
    from scipy.spatial import cKDTree

    finite = centers[np.isfinite(centers).all(axis=-1)]
    longest = max((len(panel.name) for panel in mosaic.panels), default=1)
    side = 2 * min(mosaic.field.half_width, mosaic.field.half_height)
    room = (
        side
        if len(finite) < 2
        else min(side, 1.2 * float(np.quantile(cKDTree(finite).query(finite, 2)[0][:, 1], 0.1)))
    )
    size = min(0.85 * room / view.unit / (0.75 * longest), LARGEST_NAME_PT)
    return size if size >= SMALLEST_NAME_PT else 0.0

"""The depth of a region as a picture: exposure hours by colour, one map for each filter."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import shapely
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.cm import ScalarMappable
from matplotlib.collections import PolyCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from numpy.typing import NDArray

from planner.draw.figure_png import figure_png
from planner.draw.map.map_graticule import draw_graticule
from planner.draw.map.map_view import FONT, MapView, printable
from planner.draw.map.window import Window
from planner.draw.palette import LIGHT
from planner.geometry import plane_to_vector, sky_to_vector
from planner.mosaic.panel import panel_corners

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.frames.review.depth import DepthMap
    from planner.mosaic.mosaic import Mosaic

__all__ = ["depth_figure", "depth_png"]

DPI = 150
COLOURS = "viridis"
"""Even in lightness, for colour-blind people too; ships with matplotlib."""
NO_HOURS = 1.0
"""Where the scale of colours ends if nothing was exposed."""
MOST_MAPS = 6
MAP_IN = (5.8, 4.5)
NAME_PT = 7.0


def depth_png(
    depth: DepthMap,
    mosaic: Mosaic,
    title: str,
    through: Mapping[str, Mosaic] | None = None,
    *,
    across: int = 3,
) -> bytes:
    """Draw the maps as PNG; the same depth gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: depth_figure(depth, mosaic, title, through, across=across))


def depth_figure(
    depth: DepthMap,
    mosaic: Mosaic,
    title: str,
    through: Mapping[str, Mosaic] | None = None,
    *,
    across: int = 3,
) -> Figure:
    """Draw the maps on a figure of their own.

    Parameters
    ----------
    depth : DepthMap
        Without filters the map shows all frames together.
    mosaic : Mosaic
        The plan, for the panels' outlines and names.
    title : str
    through : mapping, optional
        Filters to the panels that are shot through them, where those are others than the plan's.
    across : int
        So many maps stand beside each other at most.
    """
    names: list[str | None] = [*depth.filters[:MOST_MAPS]] or [None]
    across = min(len(names), across)
    down = -(-len(names) // across)
    width, height = across * MAP_IN[0] + 1.2, down * MAP_IN[1] + 0.6
    figure = Figure(figsize=(width, height), dpi=DPI, facecolor=LIGHT.paper)
    FigureCanvasAgg(figure)
    scale = ScalarMappable(Normalize(0.0, _deepest_hours(depth, names) or NO_HOURS), COLOURS)
    for number, name in enumerate(names):
        column, row = number % across, down - 1 - number // across
        place = (column * MAP_IN[0] + 0.6, row * MAP_IN[1] + 0.4, MAP_IN[0] - 1.05, MAP_IN[1] - 0.9)
        axes = figure.add_axes((place[0] / width, place[1] / height, place[2] / width, place[3] / height))
        _draw_map(axes, depth, (through or {}).get(name or "", mosaic), name, scale)
    bar = figure.add_axes(((width - 0.9) / width, 0.4 / height, 0.16 / width, (height - 1.5) / height))
    figure.colorbar(scale, cax=bar).set_label("exposure, hours", size=8.5)
    bar.tick_params(labelsize=8)
    figure.text(
        0.5 / width,
        1 - 0.32 / height,
        printable(title),
        size=13,
        weight="bold",
        family=FONT,
        parse_math=False,
    )
    return figure


def _hours(depth: DepthMap, name: str | None) -> NDArray[np.float64]:
    seconds = depth.total if name is None else depth.seconds[:, depth.filters.index(name)]
    return np.asarray(seconds / 3600.0)


def _deepest_hours(depth: DepthMap, names: list[str | None]) -> float:
    return max(float(_hours(depth, name).max(initial=0.0)) for name in names)


def _without_holes(depth: DepthMap, number: int) -> list[shapely.Polygon]:
    """A cell, in triangles where the region has holes that it may surround."""
    cell = depth.cells[number]
    if not cell.interiors or len(depth.region.rings_deg) == 1:
        return [cell]
    return list(shapely.get_parts(shapely.constrained_delaunay_triangles(cell)))


def _draw_map(axes: Axes, depth: DepthMap, mosaic: Mosaic, name: str | None, scale: ScalarMappable) -> None:
    view = _view(axes, mosaic)
    order = np.argsort(-depth.areas_deg2, kind="stable")  # a cell in another one's hole is drawn after it
    drawn = [(number, part) for number in order for part in _without_holes(depth, number)]
    rims = (np.asarray(part.exterior.coords) for _, part in drawn)
    cells = [plane_to_vector(rim, depth.region.basis) for rim in rims]
    colours = scale.to_rgba(_hours(depth, name)[[number for number, _ in drawn]])
    parts = PolyCollection(
        view.polygons(cells), facecolors=colours, edgecolors=colours, linewidths=0.3, zorder=2, gid="depth"
    )
    axes.add_collection(parts, autolim=False)
    draw_graticule(view)
    _draw_panels(view, mosaic)
    _mark_least(view, depth, name)


def _view(axes: Axes, mosaic: Mosaic) -> MapView:
    """Axes that show the region and all panels, north up, with a border."""
    ground = np.concatenate(
        [panel_corners(mosaic.panels, mosaic.field).reshape(-1, 3), mosaic.region.outline_vectors]
    )
    box = axes.get_window_extent()
    window = Window.around(
        ground, center_deg=mosaic.region.center_deg, aspect=box.width / box.height, margin=0.04
    )
    axes.set_xlim(window.left, window.right)
    axes.set_ylim(window.bottom, window.top)
    axes.set_xticks([])
    axes.set_yticks([])
    return MapView(axes, window, LIGHT, window.width / (72 * box.width / axes.figure.dpi))


def _draw_panels(view: MapView, mosaic: Mosaic) -> None:
    """Outlines of the region and of the planned panels, and the panels' names."""
    outlines = view.polygons(list(panel_corners(mosaic.panels, mosaic.field)))
    _outline(view, outlines, LIGHT.ink, 0.5, (0, (3, 2)))
    _outline(view, view.polygons(list(mosaic.region.ring_vectors)), LIGHT.region, 1.5, "solid")
    if len(mosaic.panels) > 60:
        return
    for panel in mosaic.panels:
        x, y = view.window.project(sky_to_vector(panel.ra_deg, panel.dec_deg))
        view.write(panel.name, x, y, size=NAME_PT, color=LIGHT.ink, kind="panel name", zorder=8)


def _outline(
    view: MapView,
    parts: list[NDArray[np.float64]],
    color: str,
    width: float,
    style: str | tuple[float, tuple[int, int]],
) -> None:
    lines = PolyCollection(
        parts, facecolors="none", edgecolors=color, linewidths=width, linestyles=[style], zorder=5
    )
    view.axes.add_collection(lines, autolim=False)


def _mark_least(view: MapView, depth: DepthMap, name: str | None) -> None:
    """Cross where the region is least deep, told in the heading; none where nothing was exposed."""
    if not _hours(depth, name).any():
        text = f"{name or 'all frames'}: no good frame"
    else:
        least = depth.least(name)
        x, y = view.window.project(sky_to_vector(least.ra_deg, least.dec_deg))
        view.axes.plot([x], [y], marker="x", markersize=9, markeredgewidth=2, color=LIGHT.warning, zorder=9)
        hours = f"{least.seconds / 3600:.2f} h"
        text = f"{name or 'all frames'}: at least {hours} everywhere (least at the cross)"
    view.axes.set_title(printable(text), size=9, loc="left", pad=18, family=FONT, parse_math=False)

"""The mosaic with each panel filled as far as it is done: a map for any axes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.collections import PolyCollection
from numpy.typing import NDArray

from planner.draw.map.map_panels import draw_region
from planner.draw.map.map_view import MapView, text_width_pt
from planner.draw.map.sky_map import picture_corners
from planner.draw.map.window import Window
from planner.draw.palette import LIGHT
from planner.geometry import plane_to_vector, sky_to_vector, vector_to_plane
from planner.mosaic.panel import Field, panel_bases, panel_corners

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.answers.plan import Plan
    from planner.mosaic.mosaic import Mosaic

__all__ = ["draw_fills", "level"]

ROOM = 0.97
LEAST_CELL = 0.35
"""A cell is as large as it can be so that neighbours stay a little apart, but never smaller than this part of a
panel."""
LETTERS_CELL = 0.45
"""Letters fit a cell of this part of a panel."""
EMPTY = "#e3e7ed"
MOST_NAMED = 400
LARGEST_PT, SMALLEST_PT = 11.0, 3.0
Vectors = NDArray[np.float64]


def draw_fills(
    axes: Axes,
    plan: Plan,
    shares: Mapping[str, float],
    words: Mapping[str, str],
    *,
    size_in: tuple[float, float],
) -> None:
    """Draw the panels on bare axes, the picture's up upwards, each filled from its bottom as far as it is done.

    Parameters
    ----------
    shares : mapping
        Panel to the part that is done, in [0, 1].
    words : mapping
        Panel to what is written under its name.
    size_in : (float, float)
        Width and height of the axes on paper, inches.
    """
    mosaic = plan.mosaic
    view = _view(axes, plan, size_in)
    view.outline(
        view.polygons(list(panel_corners(mosaic.panels, mosaic.field))),
        "panel",
        color=LIGHT.grid,
        width=0.5,
        zorder=2,
    )
    cells = _cells(mosaic)
    _fill(view, [level(cell, view.window, 1.0) for cell in cells], [EMPTY] * len(cells), "panel empty")
    part = [shares.get(panel.name, 0.0) for panel in mosaic.panels]
    begun = [number for number, share in enumerate(part) if share > 0.0]
    colours = [LIGHT.picture if part[number] >= 1.0 else LIGHT.panel for number in begun]
    _fill(view, [level(cells[number], view.window, part[number]) for number in begun], colours, "panel done")
    draw_region(view, list(mosaic.region.ring_vectors))
    rim = view.polygons([picture_corners(plan.picture)])
    view.outline(rim, "picture", color=LIGHT.muted, width=0.8, zorder=5)
    _write(view, mosaic, cells, words)


def mosaic_aspect(plan: Plan) -> float:
    """Width by height of what a map shows, the picture's up upwards."""
    window = _window(plan, 1.0)
    low, high = (edge(window.project(_ground(plan)), axis=0) for edge in (np.nanmin, np.nanmax))
    return float((high[0] - low[0]) / (high[1] - low[1]))


def _ground(plan: Plan) -> Vectors:
    """Vectors to all that a map shows."""
    mosaic = plan.mosaic
    corners = panel_corners(mosaic.panels, mosaic.field).reshape(-1, 3)
    return np.concatenate([corners, mosaic.region.outline_vectors, picture_corners(plan.picture)])


def _window(plan: Plan, aspect: float) -> Window:
    """Return the window of an aspect, width by height, that shows all of a plan."""
    return Window.around(
        _ground(plan),
        center_deg=plan.picture.center_deg,
        position_angle_deg=plan.picture.position_angle_deg,
        aspect=aspect,
        margin=0.02,
        smallest_deg=0.0,
    )


def _view(axes: Axes, plan: Plan, size_in: tuple[float, float]) -> MapView:
    """Axes that show all panels, the region and the picture, with equal scale."""
    window = _window(plan, size_in[0] / size_in[1])
    axes.set_xlim(window.left, window.right)
    axes.set_ylim(window.bottom, window.top)
    return MapView(axes, window, LIGHT, window.height / (72 * size_in[1]))


def _cells(mosaic: Mosaic) -> list[Vectors]:
    """Corner vectors of each panel's cell, shape (4, 3), counter-clockwise."""
    bases, field = panel_bases(mosaic.panels), mosaic.field
    half = np.array([field.half_width, field.half_height])
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half
    parts = _parts(bases, half) if len(bases) <= MOST_NAMED else np.full(len(bases), LEAST_CELL)
    return [plane_to_vector(part * corners, basis) for part, basis in zip(parts, bases, strict=True)]


def _parts(bases: Vectors, half: Vectors) -> Vectors:
    """Size of each panel's cell as a part of the panel: up to halfway to the nearest other panel's middle."""
    apart = np.stack([np.abs(vector_to_plane(bases[:, 2], basis)) / (2 * half) for basis in bases])
    apart = np.nan_to_num(apart.max(axis=2), nan=np.inf)
    np.fill_diagonal(apart, np.inf)
    return np.asarray(np.clip(ROOM * apart.min(axis=1), LEAST_CELL, ROOM))


def level(cell: Vectors, window: Window, share: float) -> Vectors:
    """Return the lowest part of a cell in a window's plane: its share of the area, between two of its sides.

    Parameters
    ----------
    cell : ndarray, shape (4, 3)
        Corner vectors in order.
    share : float
        In [0, 1].

    Returns
    -------
    ndarray, shape (4, 2)
        Not finite where the cell lies behind the plane.
    """
    xy = window.project(cell)
    sides = np.roll(xy, -1, axis=0) + xy
    lowest = int(np.argmin(np.nan_to_num(sides[:, 1], nan=np.inf)))
    first, second, third, fourth = np.roll(xy, -lowest, axis=0)
    return np.array([first, second, second + share * (third - second), first + share * (fourth - first)])


def _fill(view: MapView, parts: list[Vectors], colours: list[str], kind: str) -> None:
    shown = [number for number, part in enumerate(parts) if np.isfinite(part).all()]
    fills = PolyCollection(
        [parts[number] for number in shown],
        facecolors=[colours[number] for number in shown],
        edgecolors="none",
        zorder=3,
        gid=kind,
    )
    view.axes.add_collection(fills, autolim=False)


def _write(view: MapView, mosaic: Mosaic, cells: list[Vectors], words: Mapping[str, str]) -> None:
    """Names of the panels and what is written under them, as large as the cells allow."""
    if not cells or len(cells) > MOST_NAMED:
        return
    size = _letter_pt(view, mosaic.field, [*words.values(), *(panel.name for panel in mosaic.panels)])
    if size < SMALLEST_PT:
        return
    for panel in mosaic.panels:
        x, y = view.window.project(sky_to_vector(panel.ra_deg, panel.dec_deg))
        text = f"{panel.name}\n{words[panel.name]}" if words.get(panel.name) else panel.name
        view.write(text, x, y, size=size, color=LIGHT.ink, kind="panel name", zorder=8, weight="bold")


def _letter_pt(view: MapView, field: Field, texts: list[str]) -> float:
    """Size of type with which the longest of some texts fits a cell, and two lines of it."""
    side_pt = 2 * LETTERS_CELL * min(field.half_width, field.half_height) / view.unit
    widest = max(text_width_pt(text, 1.0, weight="bold") for text in texts)
    return min(LARGEST_PT, 1.6 * side_pt / max(widest, 1.0), side_pt / 2.2)

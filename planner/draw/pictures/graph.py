"""What graphs and small charts share: a figure on the palette's paper, and axes in its colours."""

from __future__ import annotations

import math
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from planner.draw.map.map_view import FONT, printable
from planner.draw.palette import Palette
from planner.mosaic.panel import Field
from planner.words import shortened

__all__ = ["draw_frame", "draw_ring", "dress", "entitle", "legend_looks", "new_figure"]

LONGEST_TITLE = 80


def new_figure(
    width_in: float, height_in: float, palette: Palette, *, dpi: float, type_pt: float = 10.0
) -> Figure:
    """Return an empty figure whose parts keep out of each other's way; type is of this size from now on."""
    matplotlib.rcParams.update({"font.family": FONT, "font.size": type_pt, "text.parse_math": False})
    figure = Figure(figsize=(width_in, height_in), dpi=dpi, facecolor=palette.paper, layout="constrained")
    FigureCanvasAgg(figure)
    return figure


def dress(axes: Axes, palette: Palette) -> None:
    """Give axes a palette's paper, grid and edges."""
    axes.set_facecolor(palette.paper)
    axes.tick_params(colors=palette.muted)
    axes.grid(color=palette.grid, lw=0.5, alpha=0.6)
    for spine in axes.spines.values():
        spine.set_color(palette.grid)


def entitle(axes: Axes, title: str, palette: Palette) -> None:
    """Write a plan's title above axes, shortened if need be."""
    axes.set_title(shortened(printable(title), LONGEST_TITLE), color=palette.ink, loc="left")


def legend_looks(palette: Palette) -> dict[str, Any]:
    """Return how a legend looks."""
    return {
        "facecolor": palette.paper,
        "edgecolor": palette.grid,
        "labelcolor": palette.ink,
        "fontsize": 9,
        "framealpha": 0.9,
    }


def draw_frame(
    axes: Axes, field: Field, angle_deg: float, palette: Palette, *, zoom: float, width_pt: float
) -> None:
    """Draw the rim of a frame whose up is upwards, and an arrow to the north.

    `zoom` is in half sizes of the frame; x grows to the left; `angle_deg` is that of up, degrees east of north.
    """
    wide, high = field.half_width, field.half_height
    axes.set_xlim(zoom * wide, -zoom * wide)
    axes.set_ylim(-zoom * high, zoom * high)
    axes.set_aspect("equal")
    axes.add_patch(Rectangle((-wide, -high), 2 * wide, 2 * high, fill=False, ec=palette.panel, lw=width_pt))
    _draw_north(axes, angle_deg, wide, high, palette)


def draw_ring(axes: Axes, xy: NDArray[np.float64], colour: str, width_pt: float) -> None:
    """Draw the outline of a nebula, shape (N, 2), and fill it palely."""
    axes.fill(*xy.T, fc=colour, ec="none", alpha=0.25)
    axes.plot(*np.concatenate([xy, xy[:1]]).T, color=colour, lw=width_pt)


def _draw_north(axes: Axes, angle_deg: float, wide: float, high: float, palette: Palette) -> None:
    angle, length = math.radians(angle_deg), 0.22 * high
    foot = (-0.82 * wide, -0.72 * high)
    tip = (foot[0] - length * math.sin(angle), foot[1] + length * math.cos(angle))
    axes.annotate("", tip, foot, arrowprops={"arrowstyle": "->", "color": palette.muted, "lw": 1.0})
    axes.text(*tip, "N", color=palette.muted, fontsize=6, ha="center", va="center")

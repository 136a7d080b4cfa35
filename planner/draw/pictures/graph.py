"""What graphs and small charts share: a figure on the palette's paper, and axes in its colours."""

from __future__ import annotations

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from planner.draw.map.map_view import FONT
from planner.draw.palette import Palette

__all__ = ["dress", "new_figure"]


def new_figure(
    width_in: float, height_in: float, palette: Palette, *, dpi: float, type_pt: float = 10.0
) -> Figure:
    """Return an empty figure whose parts keep out of each other's way; type is of this size from now on."""
    matplotlib.rcParams.update({"font.family": FONT, "font.size": type_pt})
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

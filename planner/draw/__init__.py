"""Charts of plans. Matplotlib is loaded only when something is drawn."""

from .chart import chart_axes, chart_figure, chart_png
from .palette import DARK, LIGHT, Palette

__all__ = ["DARK", "LIGHT", "Palette", "chart_axes", "chart_figure", "chart_png"]

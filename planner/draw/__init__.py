"""Charts of plans. Matplotlib is loaded only when something is drawn."""

from .map.chart import chart_axes, chart_figure, chart_png
from .palette import DARK, LIGHT, Palette

__all__ = ["DARK", "LIGHT", "Palette", "chart_axes", "chart_figure", "chart_png"]

"""An arrow to the north in the corner of a small picture."""

from __future__ import annotations

import math

from matplotlib.axes import Axes

from planner.draw.palette import Palette

__all__ = ["draw_north"]


def draw_north(axes: Axes, angle_deg: float, wide: float, high: float, palette: Palette) -> None:
    """Draw it; x grows to the left.

    Parameters
    ----------
    axes : Axes
    angle_deg : float
        Position angle of the picture's up, degrees east of north.
    wide, high : float
        Half sizes of the picture.
    palette : Palette
    """
    angle, length = math.radians(angle_deg), 0.22 * high
    foot = (-0.82 * wide, -0.72 * high)
    tip = (foot[0] - length * math.sin(angle), foot[1] + length * math.cos(angle))
    axes.annotate("", tip, foot, arrowprops={"arrowstyle": "->", "color": palette.muted, "lw": 1.0})
    axes.text(*tip, "N", color=palette.muted, fontsize=6, ha="center", va="center")

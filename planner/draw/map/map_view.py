"""A window on matplotlib axes: east left, equal scale, sizes in points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.patheffects import withStroke
from matplotlib.text import Text
from numpy.typing import NDArray

from planner.draw.palette import Palette

from .window import Window

__all__ = ["FONT", "MapView", "printable", "text_width_pt"]

FONT = "DejaVu Sans"
"""Ships with matplotlib, so charts look alike everywhere."""
NO_GLYPH = "□"


@dataclass
class MapView:
    """Axes that show a window, with the room that labels have taken.

    Parameters
    ----------
    axes : Axes
    window : Window
    palette : Palette
    unit : float
        Plane units per point (1/72 inch).
    taken : list of polygon
        Boxes of labels and ornaments, in the plane.
    """

    axes: Axes
    window: Window
    palette: Palette
    unit: float
    taken: list[shapely.Polygon] = field(default_factory=list)

    @property
    def area_in2(self) -> float:
        """Area of the map on paper, square inches."""
        return self.window.width * self.window.height / (72 * self.unit) ** 2

    def box(self, x: float, y: float, width_pt: float, height_pt: float) -> shapely.Polygon:
        """Box about a plane point, its size in points."""
        half_x, half_y = width_pt * self.unit / 2, height_pt * self.unit / 2
        return shapely.box(x - half_x, y - half_y, x + half_x, y + half_y)

    def is_free(self, box: shapely.Polygon) -> bool:
        """Whether a box lies inside the window and on no other."""
        window = self.window
        sheet = shapely.box(window.right, window.bottom, window.left, window.top)
        return bool(sheet.contains(box)) and not any(box.intersects(other) for other in self.taken)

    def crowd(self, box: shapely.Polygon, others: Sequence[shapely.Polygon]) -> float:
        """Area that a box shares with plane polygons, each counted."""
        return float(np.sum(shapely.area(shapely.intersection(np.asarray(others, dtype=object), box))))

    def write(
        self,
        text: str,
        x: float,
        y: float,
        *,
        size: float,
        color: str,
        kind: str,
        zorder: float = 9.0,
        weight: str = "normal",
    ) -> Text:
        """Write text, centred, with a rim of paper that keeps it legible on lines."""
        rim = withStroke(linewidth=size / 4.5, foreground=self.palette.paper)
        return self.axes.text(
            x,
            y,
            text,
            ha="center",
            va="center",
            size=size,
            color=color,
            family=FONT,
            weight=weight,
            zorder=zorder,
            clip_on=True,
            parse_math=False,
            path_effects=[rim],
            gid=kind,
        )

    def outline(
        self,
        parts: Sequence[NDArray[np.float64]],
        kind: str,
        *,
        color: str,
        width: float,
        style: object = "solid",
        zorder: float,
        alpha: float = 1.0,
    ) -> None:
        """Draw closed outlines of plane polygons."""
        if not len(parts):
            return
        lines = PolyCollection(
            list(parts),
            facecolors="none",
            edgecolors=color,
            linewidths=width,
            linestyles=[style],
            alpha=alpha,
            zorder=zorder,
            gid=kind,
            capstyle="butt",
        )
        self.axes.add_collection(lines, autolim=False)

    def polygons(self, parts: Sequence[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
        """Plane polygons of vector polygons; those that reach behind the plane are left out."""
        flat = [self.window.project(part) for part in parts]
        return [xy for xy in flat if np.isfinite(xy).all()]


def printable(text: str) -> str:
    """Text with a box for every letter that the font lacks."""
    font = get_font(findfont(FontProperties(family=FONT)))
    return "".join(letter if font.get_char_index(ord(letter)) else NO_GLYPH for letter in text)


def text_width_pt(text: str, size: float, *, weight: str = "normal") -> float:
    """Width of one line of text in points, without kerning."""
    return size * sum(_advance(letter, weight) for letter in text)


@cache
def _advance(letter: str, weight: str) -> float:
    """Advance of a letter as a fraction of the type's size."""
    font = get_font(findfont(FontProperties(family=FONT, weight=weight)))
    font.set_size(100.0, 72)
    # 16.16 fixed point, in pixels at 72 dots per inch
    return float(font.load_char(ord(letter)).linearHoriAdvance) / 65536 / 100

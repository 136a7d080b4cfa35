"""North and east arrows and the scale bar, on a plate in a corner of the map."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from matplotlib.patches import FancyArrowPatch, Rectangle

from planner.geometry import east_north

from .map_view import MapView

__all__ = ["Plate", "best_plate", "draw_ornaments"]

RIM_PT = 6.0
SHAPES_PT = ((152.0, 50.0), (88.0, 78.0))
"""The plate lies or stands: width and height, points."""
ARROWS_PT = 50.0
"""Side of the square that holds the arrows, whatever way they point."""
ARROW_PT = 22.0
LONGEST_BAR_PT = 80.0
BAR_ARCSEC = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1200, 1800, 3600, 7200, 18000, 36000)


@dataclass(frozen=True)
class Plate:
    """Where the ornaments go: middle in the plane, size in points, and what it covers (plane area)."""

    x: float
    y: float
    width_pt: float
    height_pt: float
    covers: float


def best_plate(view: MapView, content: Sequence[shapely.Polygon]) -> Plate:
    """Return the corner and the shape that cover least of the plane polygons given."""
    return min(_plates(view, content), key=lambda plate: plate.covers)


def _plates(view: MapView, content: Sequence[shapely.Polygon]) -> list[Plate]:
    window = view.window
    plates = []
    for width, height in SHAPES_PT:
        half_x, half_y = (width / 2 + RIM_PT) * view.unit, (height / 2 + RIM_PT) * view.unit
        for y in (window.bottom + half_y, window.top - half_y):
            for x in (window.left - half_x, window.right + half_x):
                covers = view.crowd(view.box(x, y, width, height), content)
                plates.append(Plate(x, y, width, height, covers))
    return plates


def draw_ornaments(view: MapView, plate: Plate) -> None:
    """Draw arrows and bar on a plate of paper; directions and scale are those of the chart's centre."""
    box = view.box(plate.x, plate.y, plate.width_pt, plate.height_pt)
    right, bottom, left, top = box.bounds
    view.axes.add_patch(
        Rectangle(
            (right, bottom),
            left - right,
            top - bottom,
            facecolor=view.palette.paper,
            edgecolor=view.palette.grid,
            linewidth=0.6,
            alpha=0.92,
            zorder=10,
            gid="ornaments",
        )
    )
    view.taken.append(box)
    half = ARROWS_PT / 2 * view.unit
    if plate.width_pt > 2 * ARROWS_PT:
        _arrows(view, left - half, plate.y)
        _bar(view, (left - 2 * half + right) / 2, plate.y - 4 * view.unit)
    else:
        _arrows(view, plate.x, top - half)
        _bar(view, plate.x, bottom + 8 * view.unit)


def _arrows(view: MapView, x: float, y: float) -> None:
    """Arrows to north and east as they run at the chart's centre, their box centred on a point."""
    ways = np.array([axis @ view.window.basis[:2].T for axis in east_north(*view.window.center_deg)])
    reach = np.vstack([np.zeros(2), ways * (ARROW_PT + 7) * view.unit])
    start = np.array([x, y]) - (reach.min(axis=0) + reach.max(axis=0)) / 2
    for way, name in zip(ways, ("E", "N"), strict=True):
        arrow = FancyArrowPatch(
            start,
            start + way * ARROW_PT * view.unit,
            arrowstyle="-|>",
            mutation_scale=7,
            linewidth=1.0,
            color=view.palette.ink,
            shrinkA=0,
            shrinkB=0,
            zorder=11,
            gid=f"{name} arrow",
        )
        view.axes.add_patch(arrow)
        at = start + way * (ARROW_PT + 7) * view.unit
        view.write(name, *at, size=8, color=view.palette.ink, kind="arrow name", zorder=11, weight="bold")


def _bar(view: MapView, x: float, y: float) -> None:
    """Scale bar: a round angle about the chart's centre."""
    longest_arcsec = 2 * math.degrees(math.atan(LONGEST_BAR_PT * view.unit / 2)) * 3600
    arcsec = max((step for step in BAR_ARCSEC if step <= longest_arcsec), default=BAR_ARCSEC[0])
    half, tick = math.tan(math.radians(arcsec / 3600) / 2), 3 * view.unit
    xs = [x + half, x + half, x + half, x - half, x - half, x - half]
    ys = [y - tick, y + tick, y, y, y + tick, y - tick]
    view.axes.plot(xs, ys, color=view.palette.ink, linewidth=1.2, zorder=11, gid="scale bar")
    view.write(
        _length_text(arcsec), x, y + 10 * view.unit, size=8, color=view.palette.ink, kind="scale", zorder=11
    )


def _length_text(arcsec: int) -> str:
    """Length in the largest whole unit.

    >>> [_length_text(arcsec) for arcsec in (30, 1800, 7200)]
    ['30″', '30′', '2°']
    """
    if arcsec % 3600 == 0:
        return f"{arcsec // 3600}°"
    return f"{arcsec // 60}′" if arcsec % 60 == 0 else f"{arcsec}″"

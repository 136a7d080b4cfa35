"""A printed page: A4 with title, map, legend and the sources of the data."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from planner.catalogue import OBJECTS_LICENCE, STARS_LICENCE
from planner.catalogue.nebulae import NEBULAE_SOURCES
from planner.draw.figure_png import figure_png
from planner.draw.palette import DARK, LIGHT, Palette
from planner.geometry import sky_basis, vector_to_plane

from .legend import draw_legends
from .map_beside import Beside
from .map_view import FONT, printable, text_width_pt
from .sky_map import content_parts, draw_map
from .wording import detail_line, panel_line

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["page_figure", "page_png"]

A4_IN = (11.69, 8.27)
DPI = 200
SIDE_IN = 0.62
TOP_IN = {True: 1.16, False: 1.36}
BOTTOM_IN = {True: 1.34, False: 1.66}
"""Room about the map for labels, title and legend, inches; more on a tall page."""
TITLE_PT, CREDITS_PT = 17.0, 6.0
SMALLEST_SHARE = 0.6
"""Lines that are too long are set smaller, down to this share, then shortened."""
MOST_LETTERS = 400


def page_png(plan: Plan, *, dark: bool = False, beside: Beside | None = None) -> bytes:
    """Draw the page as PNG; the same plan gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: page_figure(plan, dark=dark, beside=beside))


def page_figure(plan: Plan, *, dark: bool = False, beside: Beside | None = None) -> Figure:
    """Draw the page on a figure of its own, with an Agg canvas."""
    palette = DARK if dark else LIGHT
    wide = _is_wide(plan, beside)
    width, height = A4_IN if wide else A4_IN[::-1]
    figure = Figure(figsize=(width, height), dpi=DPI, facecolor=palette.paper)
    FigureCanvasAgg(figure)
    top, bottom = TOP_IN[not plan.shortfalls], BOTTOM_IN[wide]
    place = (SIDE_IN / width, bottom / height, 1 - 2 * SIDE_IN / width, 1 - (top + bottom) / height)
    axes = figure.add_axes(place, label="map")
    facts = draw_map(axes, plan, dark=dark, beside=beside)
    _heading(figure, plan, palette, beside)
    draw_legends(figure, plan, facts, palette, side_in=SIDE_IN, beside=beside)
    limit = f", to magnitude {facts.stars.limit:g}" if facts.stars else ""
    nebulae = f" {NEBULAE_SOURCES}." if facts.nebulae else ""
    outlines = " and outlines of nebulae" if facts.outlines else ""
    objects = OBJECTS_LICENCE.replace("Objects", f"Objects{outlines}")
    credits = f"{STARS_LICENCE}{limit}. {objects}.{nebulae} Tangent plane; east is left."
    shown, size = _fitted(credits, CREDITS_PT, (width - 2 * SIDE_IN) * 72, "normal")
    _write(figure, shown, SIDE_IN, 0.17, size=size, color=palette.muted)
    return figure


def _is_wide(plan: Plan, beside: Beside | None) -> bool:
    """Whether the content lies better on a page turned sideways."""
    xy = vector_to_plane(
        np.concatenate(content_parts(plan, beside)), sky_basis(*plan.picture.center_deg, 0.0)
    )
    xy = xy[np.isfinite(xy).all(axis=-1)]
    width, height = np.ptp(xy, axis=0) if len(xy) else (1.0, 1.0)
    return bool(width >= 0.9 * height)


def _write(
    figure: Figure, text: str, x_in: float, y_in: float, *, size: float, color: str, weight: str = "normal"
) -> None:
    """Write a line of text, its left end on the baseline at a place in inches."""
    width, height = figure.get_size_inches()
    figure.text(
        x_in / width,
        y_in / height,
        text,
        size=size,
        color=color,
        weight=weight,
        family=FONT,
        ha="left",
        va="baseline",
        parse_math=False,
    )


def _heading(figure: Figure, plan: Plan, palette: Palette, beside: Beside | None) -> None:
    width, height = figure.get_size_inches()
    lines = [
        (printable(plan.request.title), 0.46, TITLE_PT, palette.ink, "bold"),
        (_panels_line(plan, beside), 0.67, 9.5, palette.ink, "normal"),
        (detail_line(plan), 0.85, 7.5, palette.muted, "normal"),
        ("; ".join(plan.shortfalls), 1.05, 9.0, palette.warning, "bold"),
    ]
    for text, down_in, largest_pt, color, weight in lines:
        shown, size = _fitted(text, largest_pt, (width - 2 * SIDE_IN) * 72, weight)
        _write(figure, shown, SIDE_IN, height - down_in, size=size, color=color, weight=weight)


def _panels_line(plan: Plan, beside: Beside | None) -> str:
    """Say how many panels there are and how they lie, instrument by instrument where there are several."""
    if beside is None:
        return panel_line(plan.mosaic)
    layouts = ((beside.name, plan.mosaic), *beside.others)
    return "; ".join(f"{printable(name)}: {panel_line(mosaic)}" for name, mosaic in layouts)


def _fitted(text: str, largest_pt: float, room_pt: float, weight: str) -> tuple[str, float]:
    """Text and size that fit a width: smaller type first, then shortened."""
    smallest_pt = SMALLEST_SHARE * largest_pt
    # a little less than the room: type set on a screen's pixels runs wider than its outlines
    room_pt *= 0.97
    cut = text[:MOST_LETTERS]
    size = min(largest_pt, largest_pt * room_pt / max(text_width_pt(cut, largest_pt, weight=weight), 1.0))
    if size >= smallest_pt and cut == text:
        return text, size
    while cut and text_width_pt(f"{cut}…", smallest_pt, weight=weight) > room_pt:
        cut = cut[: len(cut) - max(1, len(cut) // 20)]
    return f"{cut.rstrip()}…", smallest_pt

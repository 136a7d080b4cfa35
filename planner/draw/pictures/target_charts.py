"""A page of small charts of targets: each frame as it stands at its best angle, and what lies in it."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

import matplotlib
import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from planner.answers.margin_words import rounded_margin
from planner.catalogue.nebulae import NEBULAE_LICENCE, NEBULAE_SOURCES, all_nebulae, nebula_region
from planner.draw.figure_png import ONE_AT_A_TIME, figure_png
from planner.draw.map.map_view import printable
from planner.draw.palette import DARK, LIGHT, Palette
from planner.geometry import sky_basis, vector_to_plane
from planner.words import shortened

from .graph import draw_frame, draw_ring, new_figure

if TYPE_CHECKING:
    from planner.answers.targets.target import Target, TargetList

__all__ = ["MOST_DRAWN", "target_charts_figure", "target_charts_pdf", "target_charts_png"]

MOST_DRAWN = 40
"""So many are drawn, the first of the list."""
COLUMNS, WIDTH_IN, DPI = 5, 10.0, 130
LONGEST_NAME = 30
AROUND = 1.12
"""Half sizes of a small chart in half sizes of the frame."""
METADATA = {"Creator": "mosaic planner", "Producer": "mosaic planner", "CreationDate": None}


def target_charts_png(found: TargetList, *, dark: bool = False) -> bytes:
    """Draw the first targets as PNG; the same list gives the same bytes."""
    return figure_png(lambda: target_charts_figure(found, DARK if dark else LIGHT))


def target_charts_pdf(found: TargetList) -> bytes:
    """Draw the first targets as PDF, to be printed."""
    stream = io.BytesIO()
    with ONE_AT_A_TIME, rc_context():
        matplotlib.rcdefaults()
        figure = target_charts_figure(found, LIGHT)
        with rc_context({"pdf.fonttype": 42}):
            figure.savefig(stream, format="pdf", metadata=METADATA)
    return stream.getvalue()


def target_charts_figure(found: TargetList, palette: Palette = LIGHT) -> Figure:
    """Draw one small chart for each of the first targets, in their order, as the frame sees it: its up is up."""
    shown = found.targets[:MOST_DRAWN]
    rows = max(1, math.ceil(len(shown) / COLUMNS))
    height = rows * (WIDTH_IN / COLUMNS * found.field.half_height / found.field.half_width + 0.55) + 0.8
    figure = new_figure(WIDTH_IN, height, palette, dpi=DPI, type_pt=8)
    title = f"Targets of {found.setup.name}, {found.nights.first} to {found.nights.last}"
    figure.suptitle(printable(title), color=palette.ink, fontsize=11)
    figure.supxlabel(printable(f"{NEBULAE_SOURCES}. {NEBULAE_LICENCE}"), color=palette.muted, fontsize=6)
    for place, axes in enumerate(figure.subplots(rows, COLUMNS, squeeze=False).ravel()):
        axes.set_axis_off()
        if place < len(shown):
            _draw(axes, place + 1, shown[place], found, palette)
    return figure


def _draw(axes: Axes, rank: int, target: Target, found: TargetList, palette: Palette) -> None:
    basis = sky_basis(*target.center_deg, target.position_angle_deg)
    wide, high = found.field.half_width, found.field.half_height
    nebulae = all_nebulae()
    parts = [nebula_region(nebulae[index]).parts for index in target.nebulae]
    rings = [[vector_to_plane(ring, basis) for ring in rings] for rings in parts]
    zoom = AROUND * max(1.0, *(_reach(ring, wide, high) for several in rings for ring in several))
    for index, several in zip(target.nebulae, rings, strict=True):
        colour = palette.dark_nebula if nebulae.kind(index) == "dark" else palette.emission
        for ring in several:
            draw_ring(axes, ring, colour, 0.8)
    draw_frame(axes, found.field, target.position_angle_deg, palette, zoom=zoom, width_pt=1.2)
    lines = "\n".join(map(printable, _caption(rank, target)))
    axes.set_title(lines, color=palette.ink, fontsize=7)


def _reach(ring: NDArray[np.float64], wide: float, high: float) -> float:
    """How far a ring reaches, in half sizes of the frame."""
    return float(np.nanmax(np.abs(ring) / [wide, high]))


def _caption(rank: int, target: Target) -> tuple[str, str]:
    name = ", ".join(target.parts) if target.parts else target.name
    name = shortened(name, LONGEST_NAME)
    angle_deg = round(target.position_angle_deg, 1) % 180.0
    frame = (
        f"{rounded_margin(target.margin_arcmin)}' at {angle_deg:.1f}\N{DEGREE SIGN}"
        if target.margin_arcmin >= 0
        else f"{target.panels} panels"
    )
    return f"{rank}: {name}", f"{frame}, {target.most_hours:.0f} h"

"""Small pictures of groups that fit one frame: the frame, and the outlines of what lies in it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from planner.answers.margin_words import rounded_margin
from planner.draw.figure_png import figure_png
from planner.draw.map.map_view import printable
from planner.draw.palette import DARK, LIGHT, Palette
from planner.geometry import sky_basis, vector_to_plane
from planner.words import shortened

from .graph import draw_frame, draw_ring, new_figure

if TYPE_CHECKING:
    from planner.answers.fit_around import AroundAnswer, GroupAround, Member

__all__ = ["fit_around_figure", "fit_around_png"]

COLUMNS, WIDTH_IN, DPI = 4, 10.0, 130
LONGEST_NAMES = 38
AROUND = 1.12
"""Half sizes of a small picture in half sizes of the frame."""


def fit_around_png(answer: AroundAnswer, *, dark: bool = False) -> bytes:
    """Draw the groups as PNG; the same answer gives the same bytes."""
    return figure_png(lambda: fit_around_figure(answer, DARK if dark else LIGHT))


def fit_around_figure(answer: AroundAnswer, palette: Palette = LIGHT) -> Figure:
    """Draw one small picture for each group, in their order, as the frame sees it: its up is up."""
    rows = math.ceil(len(answer.groups) / COLUMNS)
    each = WIDTH_IN / COLUMNS
    aspect = answer.field.half_height / answer.field.half_width
    height = rows * (each * aspect + 0.55) + 0.5
    figure = new_figure(WIDTH_IN, height, palette, dpi=DPI, type_pt=8)
    title = f"{answer.name} and what fits with it: {answer.setup}"
    figure.suptitle(printable(title), color=palette.ink, fontsize=11)
    for place, axes in enumerate(figure.subplots(rows, COLUMNS, squeeze=False).ravel()):
        axes.set_axis_off()
        if place < len(answer.groups):
            _draw(axes, place + 1, answer.groups[place], answer, palette)
    return figure


def _draw(axes: Axes, rank: int, group: GroupAround, answer: AroundAnswer, palette: Palette) -> None:
    basis = sky_basis(*group.placement.center_deg, group.placement.position_angle_deg)
    angle_deg = group.placement.position_angle_deg
    for number, member in enumerate(group.members):
        _draw_member(axes, member, basis, palette, first=number == 0)
    draw_frame(axes, answer.field, angle_deg, palette, zoom=AROUND, width_pt=1.4)
    names = shortened(printable(", ".join(member.name for member in group.members[1:])), LONGEST_NAMES)
    text = f"{rank}: {rounded_margin(group.margin_arcmin)}' at {angle_deg:.2f}\N{DEGREE SIGN}\n{names}"
    axes.set_title(text, color=palette.ink, fontsize=8)


def _draw_member(
    axes: Axes, member: Member, basis: NDArray[np.float64], palette: Palette, *, first: bool
) -> None:
    colour = palette.region if first else palette.dark_nebula if member.kind == "dark" else palette.emission
    for ring in member.region.ring_vectors:
        draw_ring(axes, vector_to_plane(ring, basis), colour, 1.2 if first else 0.8)

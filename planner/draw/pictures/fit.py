"""The margin that one frame leaves, drawn against the camera's position angle."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MultipleLocator

from planner.answers.margin_words import frame_angle_text, margin_words
from planner.draw.figure_png import figure_png
from planner.draw.map.map_view import printable
from planner.draw.palette import DARK, LIGHT, Palette
from planner.words import shortened

from .graph import dress, entitle, legend_looks, new_figure

if TYPE_CHECKING:
    from planner.answers.fit import SetupFit

__all__ = ["fit_figure", "fit_png"]

WIDTH_IN, HEIGHT_IN, DPI = 9.0, 5.0, 160
LONGEST_NAME = 40
DASHES = ("-", (0, (6, 2)), (0, (2, 2)), (0, (6, 2, 1, 2)))


def fit_png(fits: Sequence[SetupFit], *, dark: bool = False) -> bytes:
    """Draw margins against the angle as PNG; the same answers give the same bytes."""
    return figure_png(lambda: fit_figure(fits, DARK if dark else LIGHT))


def fit_figure(fits: Sequence[SetupFit], palette: Palette = LIGHT) -> Figure:
    """Draw the largest margin at every angle, one line a setup; above the thick line everything fits."""
    figure = new_figure(WIDTH_IN, HEIGHT_IN, palette, dpi=DPI)
    axes = figure.subplots()
    entitle(axes, fits[0].request.title, palette)
    axes.axhline(0.0, color=palette.ink, lw=1.6, zorder=2)
    for number, one in enumerate(fits):
        _draw(axes, one, number, palette)
    _dress(axes, palette)
    axes.legend(**legend_looks(palette))
    return figure


def _draw(axes: Axes, one: SetupFit, number: int, palette: Palette) -> None:
    """Draw one line, round to where it began, thick where it fits, and its best."""
    colours = (palette.panel, palette.picture, palette.region, palette.sky_object)
    colour, dashes = colours[number % len(colours)], DASHES[number // len(colours) % len(DASHES)]
    angles, margins = one.fit.curve
    angles, margins = np.append(angles, angles[0] + 180.0), np.append(margins, margins[0])
    best, margin = one.fit.placement.position_angle_deg, one.fit.margin_arcmin
    told = f"{margin_words(margin)}' at {frame_angle_text(best)}\N{DEGREE SIGN}"
    label = f"{shortened(printable(one.name), LONGEST_NAME)}: {told}"
    axes.plot(angles, margins, color=colour, ls=dashes, lw=1.2)
    axes.plot(angles, np.where(margins >= 0, margins, np.nan), color=colour, ls=dashes, lw=2.6, label=label)
    axes.plot([best], [margin], ls="none", marker="D", ms=8, mfc="none", mew=1.8, color=colour)
    for start, span in one.arcs_deg or ():
        for turn in (-180.0, 0.0):
            axes.axvspan(start + turn, start + turn + max(span, 0.3), color=colour, alpha=0.15, lw=0)


def _dress(axes: Axes, palette: Palette) -> None:
    axes.set_xlim(0.0, 180.0)
    axes.xaxis.set_major_locator(MultipleLocator(15.0))
    axes.set_xlabel("position angle of the camera, degrees east of north", color=palette.ink)
    axes.set_ylabel("largest margin on all sides, arc minutes", color=palette.ink)
    dress(axes, palette)

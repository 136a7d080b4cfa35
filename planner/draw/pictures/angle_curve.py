"""Panels and guaranteed overlap drawn against camera angle."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator, PercentFormatter

from planner.draw.figure_png import figure_png
from planner.draw.palette import DARK, LIGHT, Palette
from planner.words import angle_words

from .graph import dress, entitle, legend_looks, new_figure

if TYPE_CHECKING:
    from planner.answers.which_angle.curve import AngleCount, AngleCurve

__all__ = ["angles_figure", "which_angle_png"]

WIDTH_IN, HEIGHT_IN, DPI = 9.0, 5.6, 160


def which_angle_png(curve: AngleCurve, *, dark: bool = False) -> bytes:
    """Draw the curve as PNG; the same curve gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: angles_figure(curve, DARK if dark else LIGHT))


def angles_figure(curve: AngleCurve, palette: Palette = LIGHT) -> Figure:
    """Draw panels above and overlap below, against the camera's position angle."""
    figure = new_figure(WIDTH_IN, HEIGHT_IN, palette, dpi=DPI)
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1))
    entitle(above, curve.title, palette)
    _draw_panels(above, curve, palette)
    _draw_overlap(below, curve, palette)
    for axes in (above, below):
        dress(axes, palette)
        for one, colour in _marked(curve, palette):
            axes.axvline(curve.start_deg + one.past_deg, color=colour, lw=1.2, ls=(0, (5, 3)), zorder=1)
    _label_angles(below, curve)
    above.legend(**legend_looks(palette))
    return figure


def _draw_panels(axes: Axes, curve: AngleCurve, palette: Palette) -> None:
    loose, planned = ([one for one in curve.angles if one.proven is known] for known in (False, True))
    for some, marker, size, color, label in (
        (loose, "_", 6, palette.muted, "counted in rows (estimate)"),
        (planned, "o", 5, palette.panel, "planned and proven"),
    ):
        counts = [one.panels for one in some]
        axes.plot(_places(curve, some), counts, ls="none", marker=marker, ms=size, color=color, label=label)
    best = curve.best
    label = f"best: {best.panels} at {angle_words(best.position_angle_deg)}\N{DEGREE SIGN}"
    axes.plot(
        _places(curve, [best]),
        [best.panels],
        ls="none",
        marker="D",
        ms=9,
        mfc="none",
        mew=1.8,
        color=palette.region,
        label=label,
    )
    axes.set_ylabel("panels", color=palette.ink)
    axes.yaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
    counts = [one.panels for one in curve.angles]
    axes.set_ylim(min(counts) - 0.6, max(counts) + 0.6 + 0.25 * (max(counts) - min(counts)))


def _draw_overlap(axes: Axes, curve: AngleCurve, palette: Palette) -> None:
    planned = [one for one in curve.angles if one.proven]
    overlaps = [one.overlap_found or 0.0 for one in planned]
    axes.plot(_places(curve, planned), overlaps, ls="none", marker="s", ms=4, color=palette.picture)
    axes.set_ylabel("overlap", color=palette.ink)
    axes.yaxis.set_major_formatter(PercentFormatter(1.0))
    axes.set_ylim(0.0, max(0.05, 1.15 * max(overlaps, default=0.0)))


def _places(curve: AngleCurve, some: list[AngleCount]) -> list[float]:
    """Where angles stand: they run on past the period where the range does."""
    return [curve.start_deg + one.past_deg for one in some]


def _marked(curve: AngleCurve, palette: Palette) -> list[tuple[AngleCount, str]]:
    asked = [(curve.asked, palette.picture)] if curve.asked is not None else []
    return [*asked, (curve.best, palette.region)]


def _label_angles(axes: Axes, curve: AngleCurve) -> None:
    axes.set_xlabel("position angle of the camera, degrees east of north", color=axes.yaxis.label.get_color())
    axes.xaxis.set_major_locator(MaxNLocator(10, steps=[1, 1.5, 2, 3, 5, 10]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda angle, _: f"{angle % curve.period_deg:g}"))

"""A season at a glance: panels against camera angle, all targets together and each, with the chosen angles."""

from __future__ import annotations

from typing import TYPE_CHECKING

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from planner.draw.figure_png import figure_png
from planner.draw.map.map_view import FONT, printable
from planner.draw.palette import DARK, LIGHT, Palette

if TYPE_CHECKING:
    from planner.answers.season import SeasonAngle, SeasonPlan

__all__ = ["season_figure", "season_png"]

WIDTH_IN, TOTAL_IN, TARGET_IN, EDGES_IN, DPI = 9.0, 2.8, 1.0, 1.8, 160
MOST_TARGETS = 40
LABEL_PT, MOST_LABELS = 14.0, 11
LONGEST_NAME = 44


def season_png(season: SeasonPlan, *, dark: bool = False) -> bytes:
    """Draw the season as PNG; the same season gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: season_figure(season, dark=dark))


def season_figure(season: SeasonPlan, *, dark: bool = False) -> Figure:
    """Draw the total above and each target below it, against position angle."""
    palette = DARK if dark else LIGHT
    matplotlib.rcParams.update({"font.family": FONT, "font.size": 11.0, "text.parse_math": False})
    targets = season.targets[:MOST_TARGETS]
    height = TOTAL_IN + TARGET_IN * len(targets) + EDGES_IN
    figure = Figure(figsize=(WIDTH_IN, height), dpi=DPI, facecolor=palette.paper)
    FigureCanvasAgg(figure)
    places = figure.subplots(
        len(targets) + 1,
        1,
        sharex=True,
        height_ratios=[TOTAL_IN, *[TARGET_IN] * len(targets)],
        gridspec_kw={
            "left": 0.085,
            "right": 0.975,
            "top": 1 - 0.85 / height,
            "bottom": 0.62 / height,
            "hspace": 0.3,
        },
    )
    _draw_total(places[0], season, palette)
    for number, axes in enumerate(places[1:]):
        _draw_target(axes, season, number, palette)
    places[-1].set_xlabel("position angle, degrees east of north", color=palette.ink)
    _heading(figure, season, palette)
    return figure


def _heading(figure: Figure, season: SeasonPlan, palette: Palette) -> None:
    height = figure.get_figheight()
    title = printable(season.request.title)[:90]
    figure.text(0.085, 1 - 0.34 / height, title, size=15, weight="bold", color=palette.ink)
    about = (
        "Lines: counted in sliding rows, an estimate. "
        "Rings: panels planned and proven at the chosen angles (dashed)."
    )
    figure.text(0.085, 1 - 0.56 / height, about, size=9.5, color=palette.muted)


def _draw_total(axes: Axes, season: SeasonPlan, palette: Palette) -> None:
    """Draw the total if all targets had one angle; with one angle chosen, what was planned there."""
    _style(axes, season, palette)
    _draw_line(axes, season, season.rows.sum(axis=0), palette, width=1.8)
    if len(season.angles) == 1:
        _ring(axes, season.angles[0].position_angle_deg, season.panels_total, palette)
    axes.set_ylabel("panels, all targets", color=palette.ink)
    for number, angle in enumerate(season.angles):
        _label(axes, season, number, angle, palette)


def _label(axes: Axes, season: SeasonPlan, number: int, angle: SeasonAngle, palette: Palette) -> None:
    """Write an angle and its reading beside its line, each next one a line lower."""
    reading = "" if angle.reading_deg is None else f", reading {angle.reading_deg:.10g}"
    to_left = angle.position_angle_deg > 0.75 * season.settable.period_deg
    axes.annotate(
        f"{angle.position_angle_deg:.10g}°{reading}",
        (angle.position_angle_deg, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(-4 if to_left else 4, -4 - LABEL_PT * (number % MOST_LABELS)),
        textcoords="offset points",
        ha="right" if to_left else "left",
        va="top",
        color=palette.region,
        size=11,
        weight="bold",
    )


def _draw_target(axes: Axes, season: SeasonPlan, number: int, palette: Palette) -> None:
    _style(axes, season, palette)
    _draw_line(axes, season, season.rows[number], palette, width=1.2)
    own = [angle for angle in season.angles if number in angle.targets]
    _ring(axes, own[0].position_angle_deg, season.targets[number].panels, palette)
    name = printable(season.targets[number].title)
    name = name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}…"
    axes.set_title(name, loc="left", size=10.5, color=palette.ink, pad=2.5)


def _draw_line(
    axes: Axes, season: SeasonPlan, counts: NDArray[np.int64], palette: Palette, *, width: float
) -> None:
    angles = season.settable.array_deg
    marker = "." if len(angles) < 3 else ""
    axes.plot(angles, counts, drawstyle="steps-mid", color=palette.panel, linewidth=width, marker=marker)


def _ring(axes: Axes, angle_deg: float, count: int, palette: Palette) -> None:
    axes.plot(
        [angle_deg], [count], "o", markersize=7, fillstyle="none", markeredgewidth=1.8, color=palette.region
    )


def _style(axes: Axes, season: SeasonPlan, palette: Palette) -> None:
    axes.set_facecolor(palette.paper)
    for angle in season.angles:
        axes.axvline(angle.position_angle_deg, color=palette.region, linewidth=1.0, linestyle=(0, (4, 3)))
    axes.set_xlim(0.0, season.settable.period_deg)
    axes.set_xticks(np.arange(0.0, season.settable.period_deg + 1, 15.0))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=4, integer=True))
    axes.margins(y=0.15)
    axes.tick_params(colors=palette.muted, labelsize=10)
    axes.grid(color=palette.grid, linewidth=0.4, alpha=0.6)
    for side in axes.spines.values():
        side.set_color(palette.grid)

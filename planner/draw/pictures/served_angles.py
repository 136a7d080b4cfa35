"""What every camera angle serves, drawn against the angle, and who is lost and won beside one of them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator, MultipleLocator

from planner.answers.serving.words import amount_text, angles_text
from planner.draw.figure_png import figure_png
from planner.draw.map.map_view import printable
from planner.draw.palette import DARK, LIGHT, Palette
from planner.rig.reachable_arcs import travel_arc
from planner.words import shortened

from .graph import dress, entitle, legend_looks, new_figure

if TYPE_CHECKING:
    from planner.answers.serving import AngleService

__all__ = ["served_angles_figure", "served_angles_png"]

WIDTH_IN, CURVE_IN, LANE_IN, EDGES_IN, DPI = 9.0, 3.3, 0.24, 2.2, 160
MOST_LANES = 14
LONGEST_NAME = 30
NARROWEST_DEG = 0.4
"""A stretch is drawn at least so wide."""
READING_STEP_DEG = 15
MARKS = (("D", "one"), ("s", "two"), ("^", "three"))
"""Signs of the best one, two and three angles."""


def served_angles_png(
    service: AngleService, *, title: str, unit: str = "targets", dark: bool = False
) -> bytes:
    """Draw what angles serve as PNG; the same answer gives the same bytes.

    Parameters
    ----------
    service : AngleService
    title : str
    unit : str
        Of what is summed: ``targets``, ``hours``.
    dark : bool
    """
    return figure_png(
        lambda: served_angles_figure(service, title=title, unit=unit, palette=DARK if dark else LIGHT)
    )


def served_angles_figure(
    service: AngleService, *, title: str, unit: str = "targets", palette: Palette = LIGHT
) -> Figure:
    """Draw the steps above; below, the stretches of those that a turn loses and wins first."""
    lanes = _lanes(service)
    height = CURVE_IN + EDGES_IN + LANE_IN * max(1, len(lanes))
    figure = new_figure(WIDTH_IN, height, palette, dpi=DPI)
    above, below = figure.subplots(
        2, 1, sharex=True, height_ratios=(CURVE_IN, max(2 * LANE_IN, LANE_IN * len(lanes)))
    )
    entitle(above, title, palette)
    _draw_steps(above, service, unit, palette)
    _draw_lanes(below, service, lanes, palette)
    for axes in (above, below):
        _dress(axes, service, palette)
    if service.device is not None and service.device.kind != "fixed":
        _readings_on_top(above, service, palette)
    handles = [*above.get_legend_handles_labels()[0], *(_keys(service, palette) if lanes else ())]
    looks = legend_looks(palette) | {"framealpha": None}
    figure.legend(handles=handles, loc="outside lower center", ncols=2, **looks)
    below.set_xlabel(
        f"position angle of the camera, degrees east of north{_modulo(service)}", color=palette.ink
    )
    return figure


def _draw_steps(axes: Axes, service: AngleService, unit: str, palette: Palette) -> None:
    """Draw the steps, the best angles on them, and the present angle."""
    period, curve = service.fitting.period_deg, service.curve
    angles = np.concatenate([[0.0], curve.angles_deg, [period]])
    values = np.concatenate([[curve.after[-1]], curve.after, [curve.after[-1]]])
    axes.fill_between(angles, values, 0.0, step="post", color=palette.panel, alpha=palette.panel_alpha, lw=0)
    axes.step(angles, values, where="post", color=palette.panel, lw=1.4)
    if service.now_deg is not None:
        now = service.now_deg % period
        label = f"{service.now_called}: {amount_text(service.served_at(now))} at {angles_text(service, [now])}"
        axes.plot(
            [now], [service.served_at(now)], marker="o", ms=7, color=palette.picture, ls="none", label=label
        )
    for row, (mark, word) in zip(service.best, MARKS, strict=False):
        places = angles_text(service, row.angles_deg, row.readings_deg)
        axes.plot(
            row.angles_deg,
            [service.served_at(angle) for angle in row.angles_deg],
            ls="none",
            marker=mark,
            ms=9,
            mfc="none",
            mew=1.6,
            color=palette.region if word == "one" else palette.sky_object if word == "two" else palette.ink,
            label=f"best {word}: {amount_text(row.served)} at {places}",
        )
    axes.set_ylabel(f"{unit} served", color=palette.ink)
    axes.yaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
    low, high = float(values.min()), float(values.max())
    room = max(1.0, high - low)
    axes.set_ylim(max(0.0, low - room / 4) if low > room else 0.0, high + room / 8)


def _lanes(service: AngleService) -> list[int]:
    """Numbers of the targets that a turn away from the present (or best) angle loses or wins first."""
    first: dict[str, float] = {}
    for change in service.changes(_middle(service)):
        first.setdefault(change.name, change.past_deg)
    nearest = list(first)[:MOST_LANES]
    holds = service.fitting.holds(_middle(service))
    numbers = [service.fitting.names.index(name) for name in nearest]
    return sorted(numbers, key=lambda one: (not holds[one], -first[service.fitting.names[one]]))


def _middle(service: AngleService) -> float:
    return service.best[0].angles_deg[0] if service.now_deg is None else service.now_deg


def _draw_lanes(axes: Axes, service: AngleService, lanes: list[int], palette: Palette) -> None:
    """Draw one bar for each stretch of each of these targets."""
    fitting, holds = service.fitting, service.fitting.holds(_middle(service))
    for row, number in enumerate(lanes):
        look = _look(palette, fits=bool(holds[number]))
        for start, stop in fitting.joined_deg[number]:
            width = max(stop - start, NARROWEST_DEG)
            for turn in (-fitting.period_deg, 0.0):
                axes.barh(row, width, left=start + turn, height=0.62, **look)
    axes.set_yticks(
        range(len(lanes)),
        [shortened(printable(fitting.names[one]), LONGEST_NAME) for one in lanes],
        fontsize=8,
    )
    axes.set_ylim(len(lanes) - 0.4, -0.6)
    there = "present angle" if service.now_called == "now" else "angle looked at"
    where = there if service.now_deg is not None else "best angle"
    axes.set_title(
        f"lost and won first when the camera is turned away from the {where}"
        if lanes
        else "no turn loses or wins anything",
        color=palette.muted,
        loc="left",
        fontsize=9,
    )


def _keys(service: AngleService, palette: Palette) -> list[Patch]:
    there = "now" if service.now_called == "now" else "at the angle looked at"
    where = there if service.now_deg is not None else "at the best angle"
    return [
        Patch(**_look(palette, fits=True), label=f"fits {where}: lost beyond its bar"),
        Patch(**_look(palette, fits=False), label=f"does not fit {where}: won within its bar"),
    ]


def _look(palette: Palette, *, fits: bool) -> dict[str, Any]:
    """Return how a bar looks: full, or hatched, so that red light tells them apart too."""
    if fits:
        return {"facecolor": palette.panel, "lw": 0}
    return {"facecolor": "none", "edgecolor": palette.region, "hatch": "/////", "lw": 1.0}


def _dress(axes: Axes, service: AngleService, palette: Palette) -> None:
    period = service.fitting.period_deg
    axes.set_xlim(0.0, period)
    axes.xaxis.set_major_locator(MultipleLocator(15.0))
    axes.axvline(
        _middle(service) % period,
        color=palette.region if service.now_deg is None else palette.picture,
        lw=1.4,
        ls=(0, (5, 3)),
    )
    start, span = travel_arc(service.device, period_deg=period)
    if span < period:
        for turn in (-period, 0.0):
            axes.axvspan(start + span + turn, start + period + turn, color=palette.muted, alpha=0.22, lw=0)
    dress(axes, palette)
    axes.set_axisbelow(True)


def _readings_on_top(axes: Axes, service: AngleService, palette: Palette) -> None:
    """Label round readings above the curve, where the device can show them."""
    device, period = service.device, service.fitting.period_deg
    assert device is not None  # noqa: S101  (asked by the caller)
    low, high = device.travel_deg
    round_ones = range(
        math.ceil(low / READING_STEP_DEG) * READING_STEP_DEG, math.floor(high) + 1, READING_STEP_DEG
    )
    shown: dict[float, int] = {}
    for reading in sorted(round_ones, key=abs):
        shown.setdefault(round(device.position_angle_of(reading) % period, 6), reading)
    top = axes.secondary_xaxis("top")
    top.xaxis.set_major_locator(FixedLocator(list(shown)))
    top.xaxis.set_major_formatter(FixedFormatter([str(reading) for reading in shown.values()]))
    top.tick_params(colors=palette.muted, labelsize=8)
    top.set_xlabel(f"reading of the {device.kind}", color=palette.muted, fontsize=9)
    for spine in top.spines.values():
        spine.set_color(palette.grid)


def _modulo(service: AngleService) -> str:
    return "" if service.fitting.period_deg == 180 else " (modulo 90: the sensor is square)"

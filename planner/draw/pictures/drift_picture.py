"""The drift of the camera angle as a picture: position angle less plan against the date, by state."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
from matplotlib.figure import Figure
from numpy.typing import NDArray

from planner.draw.figure_png import figure_png
from planner.draw.map.map_view import FONT, printable
from planner.draw.palette import LIGHT
from planner.rig.turn import least_turn_deg, off_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.frames.review.drift import Drift, PointingDrift
    from planner.rig.angle_device import AngleDevice

__all__ = ["drift_figure", "drift_png"]

DPI = 150
DAY_ZERO = dt.datetime(2000, 1, 1)
MARKS = {"as planned": ("o", LIGHT.panel), "upside down": ("^", LIGHT.region)}
LEAST_REACH_DEG = 0.2
LEGEND_ROOM = 1.6
"""So much higher than it is deep the picture is, so that the legend covers no frame."""


def drift_png(drift: Drift, title: str, *, limit_deg: float, device: AngleDevice | None = None) -> bytes:
    """Draw the picture as PNG; the same drift gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: drift_figure(drift, title, limit_deg=limit_deg, device=device))


def drift_figure(drift: Drift, title: str, *, limit_deg: float, device: AngleDevice | None = None) -> Figure:
    """Draw the picture on a figure of its own.

    Parameters
    ----------
    drift : Drift
    title : str
    limit_deg : float
        Limit of a good frame, drawn as lines where it is near.
    device : AngleDevice, optional
        What turns the camera: smaller turns than it can be set to are not asked for.
    """
    figure = Figure(figsize=(9.0, 4.6), dpi=DPI, facecolor=LIGHT.paper)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.09, 0.15, 0.88, 0.69))
    for state in drift.states:
        _draw_state(axes, state, lines=not drift.changes)
    _draw_changes(axes, drift)
    _dress(axes, drift, limit_deg)
    figure.text(0.09, 0.94, printable(title), size=12, weight="bold", family=FONT, parse_math=False)
    figure.text(0.09, 0.885, _summary(drift, least_turn_deg(device)), size=9, color=LIGHT.muted, family=FONT)
    return figure


def _dates(days: Sequence[float]) -> NDArray[np.datetime64]:
    return np.array([DAY_ZERO + dt.timedelta(days=float(day)) for day in days], dtype="datetime64[ms]")


def _draw_changes(axes: Axes, drift: Drift) -> None:
    """Draw where the angle changed at once."""
    for number, one in enumerate(drift.changes):
        (date,) = _dates([(one.from_day + one.to_day) / 2])
        label = "" if number else "the angle changed"
        axes.axvline(date, color=LIGHT.ink, linewidth=1.0, linestyle=(0, (1, 2)), label=label)


def _draw_state(axes: Axes, state: PointingDrift, *, lines: bool) -> None:
    mark, colour = MARKS[state.state]
    dates = _dates(state.days.tolist())
    axes.plot(
        dates,
        state.angle_off_deg,
        linestyle="none",
        marker=mark,
        markersize=4.5,
        color=colour,
        alpha=0.7,
        label=f"{state.state}: {len(dates)} frames, last {state.now_deg:+.2f} degrees{_rate(state)}",
    )
    if state.rate_deg_per_month is not None and lines:
        middle = float(np.median(state.days))
        level = float(np.median(state.angle_off_deg))
        ends = [level + state.rate_deg_per_month / 30 * (float(day) - middle) for day in state.days[[0, -1]]]
        axes.plot(dates[[0, -1]], ends, color=colour, linewidth=1.2)


def _rate(state: PointingDrift) -> str:
    rate = state.rate_deg_per_month
    return "" if rate is None else f", {rate:+.2f} degrees a month"


def _dress(axes: Axes, drift: Drift, limit_deg: float) -> None:
    reach = max((float(np.abs(state.angle_off_deg).max()) for state in drift.states), default=0.0)
    reach = 1.15 * max(reach, LEAST_REACH_DEG)
    axes.set_ylim(-reach, LEGEND_ROOM * reach)
    axes.axhline(0.0, color=LIGHT.ink, linewidth=0.8)
    if limit_deg < reach:
        for limit in (-limit_deg, limit_deg):
            axes.axhline(limit, color=LIGHT.warning, linewidth=0.8, linestyle=(0, (4, 3)))
    axes.set_ylabel("position angle less plan, degrees", size=9)
    locator = AutoDateLocator()
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))
    axes.set_xlabel("begin of the exposure, UTC", size=9)
    axes.tick_params(labelsize=8)
    axes.grid(color=LIGHT.grid, linewidth=0.4)
    if drift.states:
        axes.legend(fontsize=8, loc="upper left", framealpha=0.9)


def _summary(drift: Drift, least_deg: float) -> str:
    turn = drift.turn_back_deg
    if turn is None:
        return "no frame with a plate solution and a date"
    if abs(turn) < least_deg:
        off = off_words(turn)
        return "the angle is as planned" + (f" ({off})" if off else "")
    towards = "larger" if turn > 0 else "smaller"
    return f"for what is still to shoot, turn the camera by {abs(turn):.2f} degrees towards {towards} position angles"

"""The scale of an angle device, drawn: a dial seen from behind the camera, and the travel as a bar."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Wedge

from planner.rig.angle_device import AngleDevice

from .ink_page import BLACK, FONT, GREY, PALE

__all__ = ["Marks", "draw_dial", "draw_travel"]

RIM, TICK, LABEL, NOW, TARGET = 1.0, 0.93, 1.17, 0.86, 0.92
TEN, THIRTY, TURN = 10, 30, 360
LEAST_ARC_DEG = 4.0
"""Shorter turns get no arrow: the two marks would hide it."""


@dataclass(frozen=True)
class Marks:
    """What the drawing marks on the scale.

    Parameters
    ----------
    device : AngleDevice
    target_deg : float
        Reading to set.
    present_deg : float or None
        Reading now.
    tolerance_deg : float or None
        How far the reading may be off.
    mirrored : bool
        Whether position angle grows clockwise as seen from behind the camera.
    """

    device: AngleDevice
    target_deg: float
    present_deg: float | None = None
    tolerance_deg: float | None = None
    mirrored: bool = False

    @property
    def direction(self) -> int:
        """1 where readings grow counter-clockwise as seen from behind the camera, else -1."""
        return self.device.sense * (-1 if self.mirrored else 1)

    def page_angle_deg(self, reading_deg: float) -> float:
        """Place of a reading on the dial: degrees counter-clockwise from the right, reading 0 on top."""
        return 90.0 + self.direction * reading_deg


def draw_dial(axes: Axes, marks: Marks) -> None:
    """Draw the dial: scale, travel, the mark now and where it must go."""
    axes.set_xlim(-1.32, 1.32)
    axes.set_ylim(-1.32, 1.32)
    axes.set_aspect("equal")
    _draw_out_of_reach(axes, marks)
    axes.add_patch(Circle((0, 0), RIM, fill=False, linewidth=2.0, edgecolor=BLACK))
    for reading in np.arange(0.0, TURN, _tick_step(marks.device)):
        _draw_tick(axes, marks, float(reading))
    if marks.tolerance_deg is not None and marks.tolerance_deg >= 1.0:
        _draw_tolerance(axes, marks, marks.tolerance_deg)
    if marks.present_deg is not None:
        _draw_hand(axes, marks, marks.present_deg, length=NOW, now=True)
    _draw_hand(axes, marks, marks.target_deg, length=TARGET, now=False)
    _draw_turn(axes, marks)
    axes.add_patch(Circle((0, 0), 0.05, facecolor=BLACK))


def _tick_step(device: AngleDevice) -> float:
    """Step of the fine ticks: the scale's own division where it divides a turn, at least a degree."""
    step = max(1.0, device.division_deg)
    return step if step <= TEN and abs(TURN / step - round(TURN / step)) < 1e-9 else float(TEN)


def _readings_at(device: AngleDevice, reading_deg: float) -> list[float]:
    """Return the readings within the travel at one place of the dial, the nearest to 0 first."""
    low, high = device.travel_deg
    first, last = math.ceil((low - reading_deg) / TURN), math.floor((high - reading_deg) / TURN)
    return sorted((reading_deg + k * TURN for k in range(first, last + 1)), key=abs)


def _at(angle_deg: float, radius: float) -> tuple[float, float]:
    return radius * math.cos(math.radians(angle_deg)), radius * math.sin(math.radians(angle_deg))


def _draw_tick(axes: Axes, marks: Marks, reading_deg: float) -> None:
    angle = marks.page_angle_deg(reading_deg)
    major, middle = reading_deg % THIRTY == 0, reading_deg % TEN == 0
    inner = TICK - 0.05 if major else TICK if middle else TICK + 0.035
    (x, y), (to_x, to_y) = _at(angle, RIM), _at(angle, inner)
    axes.plot([x, to_x], [y, to_y], color=BLACK, linewidth=1.8 if major else 1.1 if middle else 0.5)
    found = _readings_at(marks.device, reading_deg)
    if major and found:
        x, y = _at(angle, LABEL)
        axes.text(x, y, f"{found[0]:g}", size=11, ha="center", va="center", family=FONT)


def _draw_out_of_reach(axes: Axes, marks: Marks) -> None:
    """Hatch the part of the dial that the travel leaves out."""
    low, high = marks.device.travel_deg
    if high - low >= TURN:
        return
    ends = sorted(marks.page_angle_deg(reading) for reading in (high, low + TURN))
    wedge = Wedge(
        (0, 0), RIM, *ends, width=0.28, facecolor="none", edgecolor=GREY, hatch="////", linewidth=0.8
    )
    axes.add_patch(wedge)


def _draw_tolerance(axes: Axes, marks: Marks, tolerance_deg: float) -> None:
    middle = marks.page_angle_deg(marks.target_deg)
    half = min(tolerance_deg, 30.0)
    axes.add_patch(
        Wedge(
            (0, 0), RIM, middle - half, middle + half, width=0.28, facecolor=PALE, edgecolor="none", zorder=0
        )
    )


def _draw_hand(axes: Axes, marks: Marks, reading_deg: float, *, length: float, now: bool) -> None:
    angle = marks.page_angle_deg(reading_deg)
    x, y = _at(angle, length)
    style: dict[str, Any] = (
        {"linewidth": 1.6, "linestyle": (0, (4, 3))} if now else {"linewidth": 4.0, "solid_capstyle": "butt"}
    )
    axes.plot([0, x], [0, y], color=BLACK, zorder=3, **style)
    tip: dict[str, Any] = {
        "facecolor": "white" if now else BLACK,
        "edgecolor": BLACK,
        "linewidth": 1.6,
        "zorder": 4,
    }
    corners = [_at(angle, length + 0.08), _at(angle + 4.0, length - 0.06), _at(angle - 4.0, length - 0.06)]
    axes.fill(*zip(*corners, strict=True), **tip)


def _draw_turn(axes: Axes, marks: Marks) -> None:
    """Arrow from the mark now to where it must go, the way that the readings go."""
    if marks.present_deg is None or abs(marks.target_deg - marks.present_deg) < LEAST_ARC_DEG:
        return
    start, end = marks.page_angle_deg(marks.present_deg), marks.page_angle_deg(marks.target_deg)
    sweep = np.radians(np.linspace(start, end, 60))
    radius = np.linspace(0.52, 0.52 if abs(end - start) < TURN else 0.62, 60)
    x, y = radius * np.cos(sweep), radius * np.sin(sweep)
    axes.plot(x[:-4], y[:-4], color=BLACK, linewidth=2.2, zorder=2)
    arrow = FancyArrowPatch((x[-6], y[-6]), (x[-1], y[-1]), arrowstyle="-|>", mutation_scale=20, color=BLACK)
    axes.add_patch(arrow)


def draw_travel(axes: Axes, marks: Marks) -> None:
    """Draw the whole travel as a straight bar with both readings; more than a turn shows only here."""
    low, high = marks.device.travel_deg
    span = high - low
    axes.set_xlim(low - 0.03 * span, high + 0.03 * span)
    axes.set_ylim(-1.25, 1.35)
    axes.plot([low, high], [0, 0], color=BLACK, linewidth=2.5, solid_capstyle="butt")
    for reading in _bar_ticks(low, high):
        axes.plot([reading, reading], [-0.18, 0.18], color=BLACK, linewidth=1.2)
        axes.text(reading, -0.45, f"{reading:g}", size=9, ha="center", va="top", family=FONT)
    if marks.present_deg is not None:
        axes.plot(marks.present_deg, 0.42, marker="v", markersize=10, color="white", markeredgecolor=BLACK)
    axes.plot(marks.target_deg, 0.42, marker="v", markersize=11, color=BLACK)


def _bar_ticks(low: float, high: float) -> Iterator[float]:
    """Both ends, and round readings between them that keep clear of the ends."""
    step = next((step for step in (10, 30, 60, 90, 180, 360) if (high - low) / step <= 13), 360)
    yield low
    for reading in np.arange(math.ceil(low / step) * step, high, step):
        if min(reading - low, high - reading) > 0.35 * step:
            yield float(reading)
    yield high

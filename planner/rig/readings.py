"""Readings for a whole mosaic: which of the equivalent readings to set, with the least turning."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.mosaic.panel import Field, Panel, shooting_order

from .angle_device import AngleDevice

__all__ = ["EQUAL_DEG", "PanelReading", "least_travel", "panel_readings", "total_travel_deg"]

EQUAL_DEG = 0.005
"""A division that differs less from a reading is the reading itself."""


@dataclass(frozen=True)
class PanelReading:
    """What to set for one panel.

    Parameters
    ----------
    name : str
    position_angle_deg : float
        That the plan asks for.
    reading_deg : float
        On the device's scale; where the angle cannot be reached, the nearest that can.
    off_deg : float
        Position angle at that reading less the plan's, modulo the panel's symmetry; 0 where reachable.
    """

    name: str
    position_angle_deg: float
    reading_deg: float
    off_deg: float = 0.0

    @property
    def reachable(self) -> bool:
        """Whether the device can show the plan's angle."""
        return self.off_deg == 0.0

    @property
    def nearest_position_angle_deg(self) -> float:
        """The position angle at that reading, with the plan's sense of up, [0, 360)."""
        return (self.position_angle_deg + self.off_deg) % 360.0


def panel_readings(
    panels: Sequence[Panel], field: Field, device: AngleDevice, *, start_deg: float | None = None
) -> tuple[PanelReading, ...]:
    """Return what to set for each panel, with the least total travel of all equivalent choices.

    Parameters
    ----------
    panels : sequence of Panel
    field : Field
        Tells whether panels are square.
    device : AngleDevice
    start_deg : float, optional
        The present reading; the way from it counts. Left out: wherever is best.

    Returns
    -------
    tuple of PanelReading
        In the panels' own sequence.
    """
    period = field.period_deg
    order = shooting_order(panels)
    nearest = [device.nearest_reading(panel.position_angle_deg, period_deg=period) for panel in panels]
    choices = [_choices(panels[index], device, nearest[index], period) for index in order]
    chosen = dict(zip(order, least_travel(choices, start_deg=start_deg), strict=True))
    return tuple(
        PanelReading(panel.name, panel.position_angle_deg, chosen[index], nearest[index][1])
        for index, panel in enumerate(panels)
    )


def _choices(
    panel: Panel, device: AngleDevice, nearest: tuple[float, float], period: float
) -> tuple[float, ...]:
    reading, off = nearest
    if off == 0.0:
        return device.readings_for(panel.position_angle_deg, period_deg=period)
    return device.readings_for(panel.position_angle_deg + off, period_deg=period) or (reading,)


def least_travel(choices: Sequence[Sequence[float]], *, start_deg: float | None = None) -> list[float]:
    """Pick one reading of each set so that the total travel is the least possible.

    Exact, by dynamic programming over the sets. Among equals the one that begins nearest to reading 0 wins,
    since cables hang loosest there.

    Parameters
    ----------
    choices : sequence of sequences of float
        The equivalent readings, set after set, in the order of work; none is empty.
    start_deg : float, optional
        Where the device stands; the way from there counts.

    >>> least_travel([(10.0, 190.0), (170.0, 350.0)], start_deg=0.0), least_travel([(10.0, 190.0), (170.0,)])
    ([10.0, 170.0], [190.0, 170.0])
    """
    if not choices:
        return []
    sets = [np.sort(np.asarray(one, dtype=float)) for one in choices]
    cost = np.zeros(len(sets[0])) if start_deg is None else np.abs(sets[0] - start_deg)
    wind = np.abs(sets[0])
    came_from: list[np.ndarray] = []
    for before, here in itertools.pairwise(sets):
        step = cost[:, None] + np.abs(before[:, None] - here[None, :])
        best = step.min(axis=0)
        tied = np.where(step <= best + 1e-9, wind[:, None], np.inf)
        came_from.append(tied.argmin(axis=0))
        cost, wind = best, tied.min(axis=0) + np.abs(here) * 1e-6
    last = int(np.where(cost <= cost.min() + 1e-9, wind, np.inf).argmin())
    return [float(one[index]) for one, index in zip(sets, _traced(came_from, last), strict=True)]


def _traced(came_from: Sequence[np.ndarray], last: int) -> list[int]:
    indices = [last]
    for back in reversed(came_from):
        indices.append(int(back[indices[-1]]))
    return indices[::-1]


def total_travel_deg(readings: Sequence[float], *, start_deg: float | None = None) -> float:
    """Sum of all turns of a sequence of readings, degrees on the scale."""
    path = [*([] if start_deg is None else [start_deg]), *readings]
    return sum(abs(after - before) for before, after in itertools.pairwise(path))

"""Which flats are due: for each camera angle and filter, before anybody turns the camera.

Common practice, no source: what shades the pixels of a frame does not turn with the camera, so flats hold for one
camera angle and one filter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.mosaic.panel import shooting_order
from planner.rig.flats import FlatAngles, flat_angles, flat_words

from .panel_facts import exposures_wanted, readings_deg

if TYPE_CHECKING:
    from .plan import Plan

__all__ = ["RULE", "DueFlats", "due_flats", "due_words", "flat_groups"]

RULE = "Flats are due for each camera angle and filter, before anybody turns the camera (common practice, no source)."
"""What to say where flats are listed."""


@dataclass(frozen=True)
class DueFlats:
    """Flats of one camera angle.

    Parameters
    ----------
    position_angle_deg : float
        Of the first of the panels, degrees east of north.
    reading_deg : float or None
        Of the angle device there; None without one, or out of its travel.
    panels : tuple of str
        Panels that share them.
    filters : tuple of str
        Filters in which they are due; empty where the plan names none.
    """

    position_angle_deg: float
    reading_deg: float | None
    panels: tuple[str, ...]
    filters: tuple[str, ...]

    @property
    def words(self) -> str:
        """Return which flats, in short."""
        return flat_words(self.filters, self.position_angle_deg, self.reading_deg)


def flat_groups(plan: Plan) -> FlatAngles:
    """Return the camera angles of a plan's panels in groups that share flats, by readings where there is a device."""
    panels = plan.mosaic.panels
    if plan.request.angle_device is not None:
        readings = readings_deg(plan).tolist()
        if all(map(math.isfinite, readings)):
            return flat_angles(readings, 360.0)
    return flat_angles([panel.position_angle_deg for panel in panels])


def due_flats(plan: Plan) -> list[DueFlats]:
    """Return all flats that a plan's exposures need, in the order in which panels are shot."""
    groups, wanted = flat_groups(plan), exposures_wanted(plan)
    order = shooting_order(plan.mosaic.panels)
    found: list[DueFlats] = []
    for number in dict.fromkeys(groups.numbers[index] for index in order):
        ours = [index for index in order if groups.numbers[index] == number]
        names = [one.name for k, one in enumerate(plan.request.filters) if any(wanted[n][k] for n in ours)]
        if names or not plan.request.filters:
            found.append(_due(plan, ours, names))
    return found


def due_words(plan: Plan, panel: int, filters: Iterable[str]) -> str:
    """Say which flats are due at the camera angle of a panel."""
    return _due(plan, [panel], filters).words


def _due(plan: Plan, panels: list[int], filters: Iterable[str]) -> DueFlats:
    first = plan.mosaic.panels[panels[0]]
    reading = None
    if plan.request.angle_device is not None:
        told = float(readings_deg(plan)[panels[0]])
        reading = told if math.isfinite(told) else None
    names = tuple(plan.mosaic.panels[index].name for index in panels)
    return DueFlats(first.position_angle_deg, reading, names, tuple(filters))

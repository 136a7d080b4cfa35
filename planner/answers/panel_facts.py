"""What is told of each panel: readings of the angle device, settings of the camera, exposures wanted."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from itertools import compress
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.mosaic.panel import Field, Panel
from planner.night.settings import Filter
from planner.request.panels import PanelRequest
from planner.rig.angle_device import AngleDevice
from planner.rig.readings import panel_readings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .plan import Plan

Value = TypeVar("Value")

__all__ = [
    "exposures_asked",
    "exposures_wanted",
    "hand_settings",
    "is_to_do",
    "readings_deg",
    "setting_deg",
    "still_to_do",
]


def readings_deg(plan: Plan) -> NDArray[np.float64]:
    """Return the reading of each panel, degrees, shape (panels,).

    NaN where the device cannot reach the angle.

    Raises
    ------
    InputError
        If the plan has no angle device.
    """
    device = plan.request.angle_device
    if device is None:
        raise InputError("readings need an angle device; add [angle_device] to the plan or its setup file")
    return _readings_deg(plan.mosaic.panels, plan.mosaic.field, device)


@lru_cache(maxsize=1)
def _readings_deg(panels: tuple[Panel, ...], field: Field, device: AngleDevice) -> NDArray[np.float64]:
    readings = panel_readings(panels, field, device)
    return np.array([one.reading_deg if one.reachable else np.nan for one in readings], dtype=float)


def exposures_wanted(plan: Plan) -> list[list[int]]:
    """Return the exposures of each panel through each filter that are still to be taken, in the plan's own sequences.

    Panels that a plan file lists may want numbers of their own, 0 among them, and kept ones have some already.
    """
    listed = {one.name: one for one in plan.request.panels}
    filters = plan.request.filters
    return [[_to_take(listed.get(panel.name), one) for one in filters] for panel in plan.mosaic.panels]


def exposures_asked(plan: Plan) -> list[list[int]]:
    """Return the exposures of each panel through each filter in all, those that it has already among them."""
    listed = {one.name: one for one in plan.request.panels}
    return [
        [
            listed[panel.name].wanted(one.name, one.exposures) if panel.name in listed else one.exposures
            for one in plan.request.filters
        ]
        for panel in plan.mosaic.panels
    ]


def _to_take(listed: PanelRequest | None, one: Filter) -> int:
    if listed is None:
        return one.exposures
    return max(0, listed.wanted(one.name, one.exposures) - listed.had(one.name))


def is_to_do(plan: Plan) -> list[bool]:
    """Whether each panel is still to be shot: not where it is kept and has every exposure that is wanted.

    In a plan without filters kept panels have all that they need.
    """
    has_all = {one.name for one in plan.request.panels if not one.still_wants(plan.request.filters)}
    return [not panel.kept or panel.name not in has_all for panel in plan.mosaic.panels]


def still_to_do(plan: Plan) -> Plan:
    """Return a plan with only the panels that are still to be shot, and the seams between these.

    What has been proven stays that of the whole. A plan of which all panels, or none, are still to be shot is
    returned as it is.
    """
    to_do = is_to_do(plan)
    if all(to_do) or not any(to_do):
        return plan
    mosaic, place = plan.mosaic, np.cumsum(to_do) - 1
    both = [to_do[seam.first] and to_do[seam.second] for seam in mosaic.seams]
    seams = [
        replace(seam, first=int(place[seam.first]), second=int(place[seam.second]))
        for seam, stays in zip(mosaic.seams, both, strict=True)
        if stays
    ]
    counts = plan.star_counts
    return replace(
        plan,
        mosaic=replace(mosaic, panels=_chosen(mosaic.panels, to_do), seams=tuple(seams)),
        star_counts=replace(counts, seams=_chosen(counts.seams, both), panels=_chosen(counts.panels, to_do)),
    )


def _chosen(values: Sequence[Value], which: Sequence[bool]) -> tuple[Value, ...]:
    return tuple(compress(values, which))


def hand_settings(plan: Plan) -> tuple[int, ...] | None:
    """Number the settings of the camera, one for each panel; None where nobody turns it by hand."""
    device = plan.request.angle_device
    if device is not None and device.kind != "adjuster":
        return None
    period = plan.mosaic.field.period_deg if device is None else math.inf
    angles = [setting_deg(plan, device, panel) for panel in range(len(plan.mosaic.panels))]
    shown = ["" if math.isnan(one) else f"{round(one, 2) % period:.2f}" for one in angles]
    numbers = {one: number for number, one in enumerate(dict.fromkeys(shown))}
    return tuple(numbers[one] for one in shown)


def setting_deg(plan: Plan, device: AngleDevice | None, panel: int) -> float:
    """Return the reading of a panel, NaN out of reach; without a device its position angle."""
    if device is None:
        return plan.mosaic.panels[panel].position_angle_deg
    return float(readings_deg(plan)[panel])

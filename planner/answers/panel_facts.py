"""What the exchange files tell of each panel: readings of the angle device, exposures wanted."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.mosaic.panel import Field, Panel
from planner.rig.angle_device import AngleDevice
from planner.rig.readings import panel_readings

if TYPE_CHECKING:
    from .plan import Plan

__all__ = ["exposures_wanted", "readings_deg"]


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
    """Return the exposures of each panel through each filter, in the plan's own sequences.

    Panels that a plan file lists may want numbers of their own, 0 among them.
    """
    listed = {one.name: one for one in plan.request.panels}
    filters = plan.request.filters
    return [
        [
            listed[panel.name].wanted(one.name, one.exposures) if panel.name in listed else one.exposures
            for one in filters
        ]
        for panel in plan.mosaic.panels
    ]

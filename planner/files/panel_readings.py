"""Readings of the angle device for all panels of a plan, as the exchange files show them."""

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
    from planner.plan import Plan

__all__ = ["readings_deg"]


def readings_deg(plan: Plan) -> NDArray[np.float64]:
    """Return the readings in the normal pointing state and through the pole, degrees, shape (2, panels).

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
    pairs = [(one.normal_deg, one.through_pole_deg) if one.reachable else (np.nan,) * 2 for one in readings]
    return np.array(pairs, dtype=float).reshape(-1, 2).T

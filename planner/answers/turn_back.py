"""The turn that brings the camera's angle back to the plan's, in words for whoever makes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.rig.instruction import turning_words

from .panel_facts import readings_deg

if TYPE_CHECKING:
    from planner.frames.review.drift import Drift
    from planner.rig.angle_device import AngleDevice

    from .plan import Plan

__all__ = ["LEAST_TURN_DEG", "turn_back_lines"]

LEAST_TURN_DEG = 0.005
"""Smaller turns are none to the decimals that are told: angles that are alike so far are one setting."""


def turn_back_lines(plan: Plan, drift: Drift) -> tuple[str, ...]:
    """Say how the angle of the last night comes back to the plan's: which way, by how much, on which reading.

    Empty where there is no turn to make.

    Parameters
    ----------
    plan : Plan
    drift : Drift
        Of the frames that came back.
    """
    turn_deg, device = drift.turn_back_deg, plan.request.angle_device
    if turn_deg is None or abs(turn_deg) < LEAST_TURN_DEG:
        return ()
    if device is not None and device.kind == "fixed":
        stands = (device.zero_deg - turn_deg) % 360.0
        return (
            f"The camera is fixed and stands at position angle {stands:.2f}°: nobody turns it; "
            f"plan with zero_deg = {stands:.2f} in [angle_device].",
        )
    if device is not None and device.kind == "rotator":
        by = f"by {device.sense * turn_deg:+.2f}° on its scale"
        order = (
            f"Send the rotator {by}{_from_to(plan, device, turn_deg)}; watch the cables until it has stopped."
        )
    else:
        way = turning_words(turn_deg, mirrored=drift.mirrored)
        order = f"Turn the camera by {abs(turn_deg):.2f}° {way}, seen from behind the camera towards the sky"
        order += _scale_words(plan, device, turn_deg) if device else "."
    return order, "Verify with one more solved frame."


def _scale_words(plan: Plan, device: AngleDevice, turn_deg: float) -> str:
    change = device.sense * turn_deg
    trend = "rises" if change > 0 else "falls"
    told = f": the reading {trend} by {abs(change):.2f}°{_from_to(plan, device, turn_deg)}"
    return f"{told}. If it does not, go by the scale."


def _from_to(plan: Plan, device: AngleDevice, turn_deg: float) -> str:
    """Return both readings where the plan has one reading for all panels and the turn stays within the travel."""
    readings = readings_deg(plan)
    if not np.isfinite(readings).all() or np.ptp(readings) >= LEAST_TURN_DEG:
        return ""
    here = float(readings[0])
    there = here + device.sense * turn_deg
    return f", from the plan's {here:.2f}° to {there:.2f}°" if device.holds(there) else ""

"""When the camera's angle changed, and the turn that brings it back to the plan's, in words for whoever makes it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import PurePath
from typing import TYPE_CHECKING

import numpy as np

from planner.rig.instruction import turning_words
from planner.rig.turn import LEAST_TURN_DEG, least_turn_deg, off_words

from .panel_facts import readings_deg

if TYPE_CHECKING:
    from planner.frames.review.drift import AngleChange, Drift
    from planner.request.request import Request
    from planner.rig.angle_device import AngleDevice

    from .plan import Plan

__all__ = ["angle_change_lines", "present_words", "turn_back_lines"]

DAY_ZERO = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)
MOST_CHANGES = 8
"""Changes told, the latest ones."""
MOST_PANELS = 12


def angle_change_lines(plan: Plan, drift: Drift) -> tuple[str, ...]:
    """Say when the angle changed at once: by how much, between which frames, what was shot since.

    Parameters
    ----------
    plan : Plan
    drift : Drift
        Of the frames that came back.
    """
    shown = drift.changes[-MOST_CHANGES:]
    hidden = len(drift.changes) - len(shown)
    first = [f"{hidden} earlier changes; review.json has all of them"] if hidden else []
    lines = [line for number, one in enumerate(shown) for line in _change(plan, one, last=one is shown[-1])]
    return (*first, *lines)


def _change(plan: Plan, one: AngleChange, *, last: bool) -> Iterator[str]:
    yield (
        f"changed by {one.change_deg:+.2f} degrees {_when(plan.request, one)}: "
        f"after {_short(one.after)}, before {_short(one.before)}"
    )
    panels = [
        f"{each.panel} {each.frames}{f' ({each.turned} turned too far)' if each.turned else ''}"
        for each in one.panels
    ]
    more = f" and {len(panels) - MOST_PANELS} more panels" if len(panels) > MOST_PANELS else ""
    until = "" if last else " and before the next change"
    yield f"  frames since{until}: {', '.join(panels[:MOST_PANELS])}{more}"


def _when(request: Request, one: AngleChange) -> str:
    """Evening and hour of a change, site time where the plan has a site."""
    zone: dt.tzinfo = request.sites[0].zone if request.sites else dt.UTC
    name = request.sites[0].time_zone if request.sites else "UTC"
    start, end = ((DAY_ZERO + dt.timedelta(days=day)).astimezone(zone) for day in (one.from_day, one.to_day))
    evenings = [(time - dt.timedelta(hours=12)).date() for time in (start, end)]
    if evenings[0] == evenings[1]:
        flip = ", where the mount flipped" if one.at_flip else ""
        return f"in the night of {evenings[0]} between {start:%H:%M} and {end:%H:%M} ({name}){flip}"
    return f"between two nights, from {start:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M} ({name})"


def _short(name: str) -> str:
    """Return a file's name with that of its folder."""
    return "/".join(PurePath(name).parts[-2:])


def present_words(plan: Plan, drift: Drift) -> str:
    """Say how the present angle stands to the plan's, in one phrase.

    Parameters
    ----------
    plan : Plan
    drift : Drift
        Of the frames that came back.
    """
    turn = drift.turn_back_deg
    if turn is None:
        return "no frame with a solution and a date"
    if abs(turn) < least_turn_deg(plan.request.angle_device):
        return f"as planned{_nearly(drift, turn)}"
    return (
        f"{-turn:+.2f} degrees off the plan's {_by_what(drift)}: for what is still to shoot, "
        f"a turn of {turn:+.2f} degrees (east of north positive) brings it back"
    )


def _nearly(drift: Drift, turn_deg: float) -> str:
    """Say what the angle is off by although nothing needs to be turned, and whether it moves."""
    told = ", ".join(part for part in (off_words(turn_deg), _creep_words(drift)) if part)
    return f" ({told})" if told else ""


def _creep_words(drift: Drift) -> str:
    creep = next((one.creep_deg_per_hour for one in drift.latest if one.creep_deg_per_hour is not None), None)
    return "" if creep is None else f"it moves by {creep:+.2f} degrees an hour: see that the clamp holds"


def _by_what(drift: Drift) -> str:
    creep = _creep_words(drift)
    if creep:
        return f"by the last frames, and {creep}"
    if drift.changes and drift.latest[0].days[-1] >= drift.changes[-1].to_day:
        return "since it changed last"
    return "in the last night"


def turn_back_lines(plan: Plan, drift: Drift) -> tuple[str, ...]:
    """Say how the present angle comes back to the plan's: which way, by how much, on which reading.

    Empty where there is no turn to make.

    Parameters
    ----------
    plan : Plan
    drift : Drift
        Of the frames that came back.
    """
    turn_deg, device = drift.turn_back_deg, plan.request.angle_device
    if turn_deg is None or abs(turn_deg) < least_turn_deg(device):
        return ()
    if device is not None and device.kind == "fixed":
        stands = (device.zero_deg - turn_deg) % 360.0
        return (
            f"The camera is fixed and stands at position angle {stands:.2f}°: nobody turns it; "
            f"plan with zero_deg = {stands:.2f} in [angle_device].",
        )
    if device is not None and device.kind == "rotator":
        by = f"by {device.sense * turn_deg:+.2f}° on its scale"
        order = f"Send the rotator {by}; watch the cables until it has stopped."
        order += _by_the_scale(plan, device, turn_deg)
    else:
        way = turning_words(turn_deg, mirrored=drift.mirrored)
        order = f"Turn the camera by {abs(turn_deg):.2f}° {way}, seen from behind the camera towards the sky"
        order += _scale_words(plan, device, turn_deg) if device else "."
    return order, "Verify with one more solved frame."


def _scale_words(plan: Plan, device: AngleDevice, turn_deg: float) -> str:
    change = device.sense * turn_deg
    trend = "rises" if change > 0 else "falls"
    told = f": the reading {trend} by {abs(change):.2f}°. If it does not, stop, note what it shows and ask."
    return f"{told}{_by_the_scale(plan, device, turn_deg)}"


def _by_the_scale(plan: Plan, device: AngleDevice, turn_deg: float) -> str:
    """Say to which reading, by what the scale shows before the turn: it may have kept its place or gone along.

    Reckoned from the rounded numbers, so that those told add up. Empty unless the plan has one reading for all
    panels and the turn stays within the travel.
    """
    readings = readings_deg(plan)
    if not np.isfinite(readings).all() or np.ptp(readings) >= LEAST_TURN_DEG:
        return ""
    planned, change = float(readings[0]), device.sense * turn_deg
    if not device.holds(planned + change):
        return ""
    planned, change = round(planned, 2), round(change, 2)
    return (
        f" Read the scale before: if it shows the plan's {planned:.2f}°, the camera has moved against it: "
        f"set {planned + change:.2f}°. If it shows {planned - change:.2f}°, the scale itself was moved: "
        f"set {planned:.2f}°. If it shows anything else, stop, note what it shows and ask."
    )

"""What has to happen before a block of a night: the mount changes sides, somebody turns the camera."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .panel_facts import readings_deg

if TYPE_CHECKING:
    from planner.night.timetable import Block
    from planner.rig.angle_device import AngleDevice

    from .nights import NightsPlan
    from .plan import Plan

__all__ = ["BlockSteps", "looking_words", "night_steps"]

LEAST_TURN_DEG = 0.005
"""Angles that are alike to the decimals that a sheet shows are one setting."""


@dataclass(frozen=True)
class BlockSteps:
    """A block and what comes before it.

    Parameters
    ----------
    block : Block
    side : str
        That the mount changes sides; empty where it does not.
    turn : str
        That the camera is turned first; empty where it is not.
    """

    block: Block
    side: str
    turn: str

    @property
    def first(self) -> tuple[str, ...]:
        """What comes before the block, in words."""
        return tuple(words for words in (self.turn, self.side) if words)


def night_steps(nights: NightsPlan) -> Iterator[BlockSteps]:
    """Yield each block of the timetable with what comes before it; sides change within a night only."""
    last: dict[int, Block] = {}
    for block in nights.timetable.blocks if nights.timetable else ():
        site = nights.survey.evenings[block.night].evening.site
        before = last.get(site)
        side = _side_words(nights, before, block) if before and before.night == block.night else ""
        yield BlockSteps(block, side, _turn_words(nights.plan, before, block) if before else "")
        last[site] = block


def looking_words(block: Block) -> str:
    """To which side the telescope looks in a block; empty for a mount that never flips."""
    return f"looking {block.looking}" if block.looking else ""


def _side_words(nights: NightsPlan, before: Block, block: Block) -> str:
    """Between two blocks of one panel the change from west to east is the flip at the lower transit."""
    if before.looking == block.looking:
        return ""
    zone = nights.survey.sites[nights.survey.evenings[block.night].evening.site].zone
    time = f"{dt.datetime.fromtimestamp(block.start_s, tz=zone):%H:%M}"
    if block.looking == "west":
        return f"The mount flips at {time}: from looking east to looking west"
    if before.panel == block.panel:
        return f"Below the pole the mount flips at {time}: from looking west to looking east"
    return f"The mount goes back to looking east at {time}"


def _turn_words(plan: Plan, before: Block, block: Block) -> str:
    device = plan.request.angle_device
    if before.panel == block.panel or (device is not None and device.kind == "fixed"):
        return ""
    old, new = (_setting_deg(plan, device, one.panel) for one in (before, block))
    if not math.isfinite(new) or abs(new - old) < LEAST_TURN_DEG:
        return ""
    if device is None:
        apart = math.remainder(new - old, plan.mosaic.field.period_deg)
        return f"Turn the camera to position angle {new:.2f}° first" if abs(apart) >= LEAST_TURN_DEG else ""
    what = "Send the rotator" if device.kind == "rotator" else "Turn the camera"
    return f"{what} to {new:.2f}° first"


def _setting_deg(plan: Plan, device: AngleDevice | None, panel: int) -> float:
    """Return the reading of a panel, NaN out of reach; without a device its position angle."""
    if device is None:
        return plan.mosaic.panels[panel].position_angle_deg
    return float(readings_deg(plan)[panel])

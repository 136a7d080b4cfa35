"""What has to happen before a block of a night: the mount changes sides, somebody turns the camera."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.rig.turn import LEAST_TURN_DEG

from .flats import due_words, flat_groups
from .panel_facts import setting_deg

if TYPE_CHECKING:
    from planner.night.timetable import Block

    from .nights import NightsPlan
    from .plan import Plan

__all__ = ["NO_TIME_FOR", "BlockSteps", "flats_after", "looking_words", "night_steps"]

NO_TIME_FOR = "No time is set aside for flats and for turning the camera"
"""What the times of blocks do not hold; the plan file has no durations of them."""


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
    flats : str
        Which flats are due before that turn; empty where none are.
    after : str
        Which flats are due once the night has ended, before anybody turns the camera; told with its last block only.
    """

    block: Block
    side: str
    turn: str
    flats: str = ""
    after: str = ""

    @property
    def first(self) -> tuple[str, ...]:
        """What comes before the block, in words."""
        return tuple(words for words in (self.flats, self.turn, self.side) if words)


def night_steps(nights: NightsPlan) -> Iterator[BlockSteps]:
    """Yield each block of the timetable with what comes before it; sides change within a night only."""
    last: dict[int, Block] = {}
    due: dict[int, _Due] = {}
    blocks = nights.timetable.blocks if nights.timetable else ()
    ends = {block.night: number for number, block in enumerate(blocks)}
    for number, block in enumerate(blocks):
        site = nights.survey.evenings[block.night].evening.site
        before = last.get(site)
        side = _side_words(nights, before, block) if before and before.night == block.night else ""
        turn = _turn_words(nights.plan, before, block) if before else ""
        ours = due.setdefault(site, _Due(nights))
        flats = ours.before(block) if turn else ""
        ours.add(block)
        after = ours.words if ends[block.night] == number else ""
        yield BlockSteps(block, side, turn, f"Before this turn: {flats}" if flats else "", after)
        last[site] = block


def flats_after(nights: NightsPlan, night: int) -> str:
    """Say which flats are due once a night has ended, before anybody turns the camera; empty where none are.

    They are those of the camera's last angle, of this night and of earlier ones since it was turned there.
    """
    return next((one.after for one in night_steps(nights) if one.block.night == night and one.after), "")


class _Due:
    """Flats that are due at one site: filters exposed at the camera's present angle."""

    def __init__(self, nights: NightsPlan) -> None:
        self._nights, self._groups = nights, flat_groups(nights.plan)
        self._panel: int | None = None
        self._filters: dict[str, None] = {}

    @property
    def words(self) -> str:
        """Return which flats, in short; empty where none are due, and for a camera that nobody can turn."""
        device = self._nights.plan.request.angle_device
        if self._panel is None or (device is not None and device.kind == "fixed"):
            return ""
        return due_words(self._nights.plan, self._panel, self._filters)

    def before(self, block: Block) -> str:
        """Return the flats that are due before the camera goes to a block's angle, which then are done."""
        numbers = self._groups.numbers
        if self._panel is None or numbers[self._panel] == numbers[block.panel]:
            return ""
        words = self.words
        self._panel, self._filters = None, {}
        return words

    def add(self, block: Block) -> None:
        """Note that a block has been exposed."""
        self._panel = block.panel if self._panel is None else self._panel
        self._filters[self._nights.survey.filters[block.chosen].name] = None


def looking_words(block: Block) -> str:
    """To which side the telescope looks in a block; empty for a mount that never flips."""
    return f"looking {block.looking}" if block.looking else ""


def _side_words(nights: NightsPlan, before: Block, block: Block) -> str:
    """Between two blocks of one panel the change from west to east is the flip at the lower transit."""
    if before.looking == block.looking:
        return ""
    zone = nights.survey.site_of(block.night).zone
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
    old, new = (setting_deg(plan, device, one.panel) for one in (before, block))
    if not math.isfinite(new) or abs(new - old) < LEAST_TURN_DEG:
        return ""
    if device is None:
        apart = math.remainder(new - old, plan.mosaic.field.period_deg)
        return f"Turn the camera to position angle {new:.2f}° first" if abs(apart) >= LEAST_TURN_DEG else ""
    what = "Send the rotator" if device.kind == "rotator" else "Turn the camera"
    angle = plan.mosaic.panels[block.panel].position_angle_deg
    return f"{what} to reading {new:.2f}° (position angle {angle:.2f}°) first"

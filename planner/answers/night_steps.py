"""What has to happen between two blocks of a night: to which side the mount turns the telescope."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.night.timetable import Block

    from .nights import NightsPlan

__all__ = ["blocks_in_order", "looking_words", "side_words"]


def blocks_in_order(nights: NightsPlan) -> Iterator[tuple[Block | None, Block]]:
    """Yield each block of the timetable after the one before it in the same night; None before the first."""
    before: Block | None = None
    for block in nights.timetable.blocks if nights.timetable else ():
        yield before if before is not None and before.night == block.night else None, block
        before = block


def looking_words(block: Block) -> str:
    """To which side the telescope looks in a block; empty for a mount that never flips."""
    return f"looking {block.looking}" if block.looking else ""


def side_words(nights: NightsPlan, before: Block | None, block: Block) -> str:
    """Say that the mount changes sides before a block; empty where it does not.

    Between two blocks of one panel the change from west to east is the flip at the lower transit.
    """
    if before is None or before.looking == block.looking:
        return ""
    zone = nights.survey.sites[nights.survey.evenings[block.night].evening.site].zone
    time = f"{dt.datetime.fromtimestamp(block.start_s, tz=zone):%H:%M}"
    if block.looking == "west":
        return f"The mount flips at {time}: from looking east to looking west"
    if before.panel == block.panel:
        return f"Below the pole the mount flips at {time}: from looking west to looking east"
    return f"The mount goes back to looking east at {time}"

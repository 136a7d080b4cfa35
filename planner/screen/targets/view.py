"""What the page Targets shows now: the list, the camera angle looked at, the chosen target."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import streamlit as st

from planner.screen.state import guarded, kept
from planner.session.targets.frames import TargetFrame, frames_at

if TYPE_CHECKING:
    from planner.answers.serving import AngleService
    from planner.answers.targets.target import Target, TargetList

__all__ = ["LOOK", "TABLE", "TargetsView", "choose", "view_of"]

CHOSEN, LOOK, TABLE = "targets_chosen", "targets_look", "targets_table"
"""Where the session keeps the chosen target's name, how often the view was sent, and the table's number."""


@dataclass(frozen=True, eq=False)
class TargetsView:
    """One look at a list.

    Parameters
    ----------
    found : TargetList
        Of what the filters leave.
    whole : int
        How many targets there are without them.
    service : AngleService
        Of the nebulae in it.
    angle_deg : float
        The camera's position angle that is looked at, [0, period).
    frames : tuple of TargetFrame
        Of each target, at that angle.
    chosen : Target or None
        None where the list is empty.
    """

    found: TargetList
    whole: int
    service: AngleService
    angle_deg: float
    frames: tuple[TargetFrame, ...]
    chosen: Target | None

    def fits(self, frame: TargetFrame) -> bool:
        """Whether a frame leaves the margin that is asked for."""
        return frame.margin_arcmin >= self.found.margin_asked_arcmin - 1e-6

    @property
    def chosen_frame(self) -> TargetFrame | None:
        """The frame of the chosen target."""
        pairs = zip(self.found.targets, self.frames, strict=True)
        return next((frame for one, frame in pairs if one is self.chosen), None)


def view_of(whole: int, left: TargetList, service: AngleService, angle_deg: float) -> TargetsView:
    """Return the page's look at what is left of a list, at an angle; frames are made once for each."""
    frames = kept("targets_frames", (left, angle_deg), lambda: frames_at(left.targets, left.field, angle_deg))
    name = st.session_state.get(CHOSEN)
    first = next(iter(left.targets), None)
    chosen = next((one for one in left.targets if one.name == name), first)
    return TargetsView(left, whole, service, angle_deg, frames, chosen)


@guarded
def choose(name: str, *, go_there: bool) -> None:
    """Let another target be the chosen one, and the view go there.

    A click on its frame leaves the view; the table is made anew then, so that no other row looks chosen.
    """
    state = st.session_state
    state[CHOSEN] = name
    moved = LOOK if go_there else TABLE
    state[moved] = state.get(moved, 0) + 1

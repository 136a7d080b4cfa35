"""Two presses that compose: the frame about everything, the picture turned about everything."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.fit import ARCMIN
from planner.errors import PlannerError
from planner.screen.state import guarded, kept, session, show_fault
from planner.session.composing.fit_words import frame_words, picture_words
from planner.session.fitting import frame_edits, frame_fit, frame_placement, picture_edits

if TYPE_CHECKING:
    from planner.answers.fit import FieldFit
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["FRAME_HELP", "fit_buttons", "fitted_words", "known_fit", "lay_out_button", "take_frame"]

PLACE, SAID = "fit", "fit_said"
"""Where faults are shown, and where the session keeps the text that a fit has made, and what was said of it."""
FRAME_HELP = (
    "One panel with the largest margin about everything: where it stands and its angle go into the plan file. "
    "Undo brings back what was."
)
PICTURE_HELP = (
    "Turns the picture until it is the smallest about everything, of its proportions; panels that are square "
    "with it turn along. Undo brings back what was."
)


def fit_buttons(plan: Plan) -> None:
    """Show the buttons that fit the frame, and the picture, to the region."""
    if plan is None:
        return
    them = "them" if plan.request.region.all_parts else "it"
    with st.container(horizontal=True):
        st.button(f"Fit the frame to {them}", on_click=take_frame, args=(plan,), help=FRAME_HELP)
        st.button(f"Fit the picture to {them}", on_click=_turn_picture, args=(plan,), help=PICTURE_HELP)
    fitted_words()
    show_fault(PLACE)


def known_fit(request: Request, plan: Plan) -> FieldFit | None:
    """Return how everything fits one frame, made once for a region and a camera; None where it cannot."""
    key = (request.region, request.camera, request.angle_device)
    try:
        fit: FieldFit | None = kept("fit", key, lambda: frame_fit(request, plan.mosaic.region))
    except PlannerError:
        return None  # too wide for one plane
    return fit


@guarded
def take_frame(plan: Plan, angle_deg: float | None = None) -> None:
    """Put the one frame about everything, at an angle or at the best one."""
    now = session()
    now.faults.pop(PLACE, None)
    try:
        placement = frame_placement(now.request, plan.mosaic.region, angle_deg)
    except PlannerError as error:
        now.faults[PLACE] = _sentence(error)
        return
    edits = frame_edits(placement)
    words = frame_words(plan, edits["panels"][0], placement.room * ARCMIN)
    if now.edit(PLACE, edits, words):
        now.look_at()
        _tell(words)


@guarded
def _turn_picture(plan: Plan) -> None:
    now = session()
    now.faults.pop(PLACE, None)
    try:
        edits = picture_edits(plan, now.request)
    except PlannerError as error:
        now.faults[PLACE] = _sentence(error)
        return
    words = picture_words(plan, now.request, edits["picture.position_angle_deg"])
    if now.edit(PLACE, edits, words):
        _tell(words)


def _sentence(error: PlannerError) -> str:
    """Return an error as a sentence of its own on the page."""
    words = str(error)
    return words[:1].upper() + words[1:]


def _tell(words: str) -> None:
    """Let the page say what was fitted, as long as the plan file is as that made it."""
    st.session_state[SAID] = session().history.present, words


def fitted_words() -> None:
    """Say what the last press has fitted."""
    text, words = st.session_state.get(SAID, ("", ""))
    if words and text == session().history.present:
        st.info(words)


def lay_out_button() -> None:
    """Show the button that takes listed panels out of the plan file, so that panels are laid out."""
    st.button(
        "Lay panels out",
        on_click=_lay_out,
        help="Takes [[panels]] out of the plan file; undo brings it back.",
    )


@guarded
def _lay_out() -> None:
    session().edit("panels", {"panels": None, "settled": None}, "Panels are laid out now.")

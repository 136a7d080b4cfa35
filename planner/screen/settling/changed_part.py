"""The notice that the request has changed since the panels were settled, and what can be done about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.settle import changed_words
from planner.screen.composing.keep_part import open_keep
from planner.screen.state import guarded, session

from .settle_part import settle, unsettle

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["changed_part"]

GO = "changed_go"
"""Whether the page where panels with good frames are kept is wanted."""
ANEW_HELP = "Lets these panels go; others are found for what is asked now. Undo brings these back."
AS_THEY_ARE_HELP = (
    "Keeps these panels for what is asked now; a camera angle that is asked for becomes theirs. Undo brings back "
    "what was."
)
GOOD_HELP = "Asks for a review, or the folder of frames: its panels stay, and the fewest others are added."


def changed_part(plan: Plan) -> None:
    """Tell what settled panels do not give of what is asked now, with a press for each way on."""
    if st.session_state.pop(GO, False):
        st.switch_page("../pages/compose.py")
    words = changed_words(plan, cures=False)
    if not words:
        return
    st.warning(words)
    with st.container(horizontal=True, gap="small", key="changed"):
        st.button("Plan anew", key="changed_anew", on_click=unsettle, help=ANEW_HELP)
        st.button("Keep them as they are", key="changed_settle", on_click=settle, help=AS_THEY_ARE_HELP)
        if session().shared is None:  # of several instruments each has panels of its own
            st.button("Keep those with good frames", key="changed_good", on_click=_keep_good, help=GOOD_HELP)


@guarded
def _keep_good() -> None:
    open_keep()
    st.session_state[GO] = True

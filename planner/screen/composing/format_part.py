"""The picture's format as a choice, and how it and the panels share the sky."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.picture_shares import picture_shares
from planner.screen.inputs.mirror import mirror
from planner.screen.state import guarded, kept, session, show_fault
from planner.session.formats import FORMATS, OTHER, WAYS, format_edits, format_of, way_of

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["format_part", "shares_words"]

PLACE = "format"
WAY_HELP = "Whether the longer side lies or stands; either: whichever makes the smaller picture."


def format_part(request: Request) -> None:
    """Show the choice of proportions and of the way up."""
    name, way = format_of(request.picture), way_of(request.picture)
    names = [*FORMATS, *([OTHER] if name == OTHER else [])]
    with st.form(PLACE, border=False):
        left, middle, right = st.columns([4, 4, 3], vertical_alignment="bottom")
        left.selectbox("Format", names, key=mirror("format_name", name, "choice", names))
        middle.selectbox(
            "Longer side", list(WAYS), key=mirror("format_way", way, "choice", WAYS), help=WAY_HELP
        )
        right.form_submit_button("Use it", on_click=_use, width="stretch")
    show_fault(PLACE)


@guarded
def _use() -> None:
    state, now = st.session_state, session()
    edits = format_edits(now.request.picture, state["format_name"], state["format_way"])
    now.edit(PLACE, edits, f"The format of the picture is {state['format_name']} now.")


def shares_words(plan: Plan) -> None:
    """Say how much of the picture is empty, and how much is covered outside of it."""
    shares = kept("shares", plan, lambda: picture_shares(plan.mosaic, plan.picture))
    empty = 100 * (1 - shares.filled)
    st.caption(
        ("No part of the picture is empty. " if empty < 1e-6 else f"{empty:.1f} % of the picture is empty. ")
        + f"{100 * shares.outside:.0f} % of what the panels cover lies outside of it."
    )

"""Practise with made-up frames: they are drawn into a folder of this session, then reviewed like any others."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.rehearsal.choices import FAULT_LEVELS
from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.screen.inputs.mirror import mirror
from planner.screen.nights_part import arranged_nights
from planner.screen.state import kept, tab

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.answers.rehearsal.rehearsal import Rehearsal

__all__ = ["ask_for_practice", "made_up_folder", "show_what_was_put_in"]

MOST_NIGHTS = 400
FOLDER = "made-up-frames"


@dataclass(frozen=True)
class Practice:
    """Made-up frames of this session: where they are, and what was put in, in words."""

    folder: Path
    text: str


def ask_for_practice(plan: Plan) -> bool:
    """Offer made-up frames; return whether they are asked for now."""
    from planner.answers.nights import check_nights
    from planner.answers.rehearsal.exposures import check_rehearsal

    with st.expander("No frames yet?"):
        st.caption(
            "The first nights of the timetable, played without a telescope: small frames with catalogue stars "
            "where they belong, and faults for the review to find. Each says in its header that it is made up."
        )
        try:
            check_nights(plan.request, len(plan.mosaic.panels))
            check_rehearsal(plan.request)
        except PlannerError as error:
            st.info(str(error))
            return False
        with st.form("practice_form", border=False):
            st.number_input(
                "Nights",
                min_value=1,
                max_value=MOST_NIGHTS,
                step=1,
                key=mirror("practice_nights", 1, "number"),
                help=word_entries("rehearsal"),
            )
            st.segmented_control(
                "Faults", FAULT_LEVELS, required=True, key=mirror("practice_faults", "some")
            )
            return bool(st.form_submit_button("Practise with made-up frames"))


def made_up_folder(plan: Plan) -> Path:
    """Make the frames that were asked for; return their folder, which goes with the session.

    Raises
    ------
    PlannerError
        If the plan cannot be rehearsed, or the frames cannot be written.
    """
    from planner.answers.rehearsal.rehearsal import make_rehearsal
    from planner.files.rehearsal.folder import write_rehearsal
    from planner.files.rehearsal.names import frame_names
    from planner.files.rehearsal.story import rehearsal_text, size_words

    state, folder = st.session_state, tab().uploads.place(FOLDER)
    nights = kept("nights", (plan, "soonest"), lambda: arranged_nights(plan, "soonest"))
    rehearsal: Rehearsal = make_rehearsal(
        nights, evenings=int(state["practice_nights"] or 1), faults=state["practice_faults"] or "some"
    )
    with st.status(f"Drawing {size_words(rehearsal)}") as box:
        write_rehearsal(
            folder, rehearsal, progress=lambda what, share: box.update(label=f"{what}, {share:.0%}")
        )
        box.update(label=size_words(rehearsal), state="complete")
    state["practice"] = Practice(folder, rehearsal_text(rehearsal, frame_names(rehearsal)))
    return folder


def show_what_was_put_in(folder: Path) -> None:
    """Tell what was put into the frames of a folder, where it is the made-up one."""
    practice: Practice | None = st.session_state.get("practice")
    if practice is not None and practice.folder == folder:
        with st.expander("What was put in"):
            st.code(practice.text, language=None)

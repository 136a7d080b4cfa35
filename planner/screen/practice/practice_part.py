"""Practise with made-up frames: they are drawn into a folder of this session, then reviewed like any others."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.rehearsal.choices import FAULT_LEVELS
from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.screen.inputs.mirror import mirror
from planner.screen.nights_part import arranged_nights, chosen_goal, goal_words
from planner.screen.state import guarded, kept, tab
from planner.screen.working import working

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

    from planner.answers.plan import Plan
    from planner.answers.rehearsal.rehearsal import Rehearsal

__all__ = ["ask_for_practice", "offer_again", "show_what_was_put_in"]

MOST_NIGHTS = 400
FOLDER, MADE, AGAIN = "made-up-frames", "practice", "practice_wanted"
"""Of the session's own; where it keeps what was made, and whether that is to be reviewed again."""
AGAIN_HELP = "The same frames, by the plan and the limits as they are now"
WHERE = (
    "They stand in `{folder}`, a folder like any other, while this browser tab is open. Once the panels are "
    "settled, Grow what has begun (Compose, Panels) keeps those that have good frames in this review."
)


@dataclass(frozen=True)
class Practice:
    """Made-up frames of this session: where they are, and what was put in, in words."""

    folder: Path
    text: str


def ask_for_practice(plan: Plan) -> Callable[[], Path] | None:
    """Offer made-up frames; return what gives their folder, made anew or as it is, where that is asked for now."""
    from planner.answers.nights import check_nights
    from planner.answers.rehearsal.exposures import check_rehearsal

    as_it_is = _as_it_is()
    with st.expander("No frames yet?"):
        st.caption(
            "The first nights of the timetable, played without a telescope: small frames with catalogue stars "
            "where they belong, and faults for the review to find. Each says in its header that it is made up. "
            "Frames and review are kept while this browser tab is open and the planner runs."
        )
        try:
            check_nights(plan.request, len(plan.mosaic.panels))
            check_rehearsal(plan.request)
        except PlannerError as error:
            st.info(str(error))
            return None
        st.caption(goal_words(chosen_goal(), "Their timetable"))
        with st.form("practice_form", border=False):
            st.number_input(
                "Nights",
                min_value=1,
                max_value=MOST_NIGHTS,
                step=1,
                key=mirror("practice_nights", 1, "number"),
                help=word_entries("rehearsal"),
            )
            st.segmented_control("Faults", FAULT_LEVELS, required=True, key=mirror("practice_faults", "some"))
            makes = st.form_submit_button("Practise with made-up frames")
        return partial(_made_up_folder, plan) if makes else as_it_is


def _as_it_is() -> Callable[[], Path] | None:
    """Return what gives the folder of the frames as they are, where these are to be reviewed again."""
    made: Practice | None = st.session_state.get(MADE)
    return (lambda: made.folder) if st.session_state.pop(AGAIN, False) and made is not None else None


def offer_again(form: DeltaGenerator) -> None:
    """Offer in the form of a review to review the frames that are there already, by the limits typed there."""
    if MADE in st.session_state:
        form.form_submit_button(
            "Review the made-up frames again", key="practice_again", on_click=_again, help=AGAIN_HELP
        )


@guarded
def _again() -> None:
    st.session_state[AGAIN] = True


def _made_up_folder(plan: Plan) -> Path:
    """Make the frames that were asked for; return their folder, which goes with the session.

    Raises
    ------
    PlannerError
        If the plan cannot be rehearsed, or the frames cannot be written.
    """
    from planner.answers.rehearsal.rehearsal import make_rehearsal
    from planner.files.rehearsal.folder import write_rehearsal
    from planner.files.rehearsal.names import names_of_parts
    from planner.files.rehearsal.story import rehearsal_text, size_words

    state, folder = st.session_state, tab().uploads.place(FOLDER)
    goal = chosen_goal()
    nights = kept("nights", (plan, goal), lambda: arranged_nights(plan, goal))
    rehearsal: Rehearsal = make_rehearsal(
        nights, evenings=int(state["practice_nights"] or 1), faults=state["practice_faults"] or "some"
    )
    with working(f"Drawing {size_words(rehearsal)}") as work:
        write_rehearsal(folder, rehearsal, progress=work.tell)
        work.done(size_words(rehearsal))
    state[MADE] = Practice(folder, rehearsal_text(rehearsal, names_of_parts(rehearsal)))
    return folder


def show_what_was_put_in(folder: Path) -> None:
    """Tell what was put into the frames of a folder, where it is the made-up one."""
    practice: Practice | None = st.session_state.get(MADE)
    if practice is not None and practice.folder == folder:
        with st.expander("What was put in"):
            st.caption(WHERE.format(folder=folder))
            st.code(practice.text, language=None)

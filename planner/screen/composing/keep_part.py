"""Growing what has begun: panels with good frames stay, and the search adds the fewest others."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import FileError, PlannerError
from planner.guide.entries import word_entries
from planner.screen.inputs.mirror import mirror
from planner.screen.state import guarded, session, show_fault, tab
from planner.session.opening import typed_path
from planner.words import plain_markdown

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["keep_part", "listed_words"]

REVIEW = "review.json"
SAID = "keep_said"
"""Where the session keeps the text that keeping has made, and what was said of it."""


def listed_words(request: Request) -> str:
    """Say what becomes of the panels that a plan file lists."""
    count = len(request.panels)
    if request.grows:
        kept = sum(one.keep for one in request.panels)
        return f"Panels that stay where they are: {kept}. The search adds the fewest others."
    return f"The plan file itself lists where the panels stand ({count}): they stay there."


def keep_part() -> None:
    """Ask for a review, or a folder of solved frames, whose panels are to stay."""
    from planner.answers.keeping.keep import EVERY_GROUND

    with st.popover("Grow what has begun", help=word_entries("kept")), st.form("keep", border=False):
        st.text_input(
            "review.json, or the folder with the solved frames, on this machine",
            key=mirror("keep_path", ""),
            placeholder="/data/shell/review.json",
        )
        st.file_uploader("Or upload the review.json", type=["json"], key="keep_file")
        st.checkbox(
            f"Keep the ground of all frames in the folder ({EVERY_GROUND})",
            key=mirror("keep_all", False),
            help="Frames that a review would not call good, such as turned ones, are left aside otherwise.",
        )
        st.form_submit_button("Keep what has good frames", on_click=_keep)
    show_fault("keep")
    _show_what_stays()


def _show_what_stays() -> None:
    """Say what was kept, let go and left aside, as long as the plan file is as that made it."""
    text, sentences = st.session_state.get(SAID, ("", ()))
    if sentences and text == session().history.present:
        st.info("\n".join(f"- {plain_markdown(one)}" for one in sentences))


@guarded
def _keep() -> None:
    """Keep the panels with good frames in the plan file's text, without the others."""
    from planner.answers.settle import kept_tables
    from planner.files.kept import keep_good
    from planner.files.plan_file.made_up_mark import marked_made_up
    from planner.files.plan_file.write import update_document

    now = session()
    now.faults.pop("keep", None)
    try:
        kept = keep_good(now.request, _given(), every_ground=bool(st.session_state["keep_all"]))
        text = update_document(now.history.present, kept_tables(kept.request))
        text = marked_made_up(text) if kept.made_up else text
    except PlannerError as error:
        now.faults["keep"] = tab().uploads.named(str(error))
        return
    sentences = tuple(kept.words())
    if now.replace_text("keep", text, "; ".join(sentences)):
        st.session_state[SAID] = now.history.present, sentences


def _given() -> Path:
    """Return the review or the folder that was given; an uploaded review is kept for this session."""
    uploaded, typed = st.session_state["keep_file"], str(st.session_state["keep_path"]).strip()
    if uploaded is not None:
        return tab().uploads.keep_one(REVIEW, uploaded.getvalue())
    if not typed:
        raise FileError(
            "nothing is given to keep by; type the path of a review.json or folder, or upload the review"
        )
    return typed_path(typed)

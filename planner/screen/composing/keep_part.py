"""Growing what has begun: panels with good frames stay, and the search adds the fewest others."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import FileError, PlannerError
from planner.guide.entries import word_entries
from planner.screen.inputs.mirror import mirror
from planner.screen.state import guarded, in_place, session, show_fault, tab
from planner.session.opening import typed_path
from planner.words import counted, plain_markdown

if TYPE_CHECKING:
    from planner.request.request import Request
    from planner.screen.reviewed import Reviewed

__all__ = ["keep_part", "listed_words", "open_keep"]

REVIEW = "review.json"
OPEN = "keep_open"
"""Whether the menu is open."""
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

    menu = st.popover("Grow what has begun", help=word_entries("kept"), key=OPEN, on_change="rerun")
    with menu, st.form("keep", border=False):
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
        if "reviewed" in st.session_state:
            found: Reviewed = st.session_state["reviewed"]
            count = counted(found.review.verdicts.get("good", 0), "good frame")
            st.form_submit_button(f"Keep by the present review ({count})", on_click=_keep_by, args=(found,))
    show_fault("keep")
    with in_place():
        _show_what_stays()


def open_keep() -> None:
    """Let the page Compose show the menu opened."""
    st.session_state["side"] = "Panels"
    st.session_state[OPEN] = True


def _show_what_stays() -> None:
    """Say what was kept, let go and left aside, as long as the plan file is as that made it."""
    text, sentences = st.session_state.get(SAID, ("", ()))
    if sentences and text == session().history.present:
        st.info("\n".join(f"- {plain_markdown(one)}" for one in sentences))


@guarded
def _keep() -> None:
    """Keep the panels with good frames of what was given."""
    _keep_good(_given, every_ground=bool(st.session_state["keep_all"]))


@guarded
def _keep_by(found: Reviewed) -> None:
    """Keep the panels with good frames in the review that the page Review shows."""
    _keep_good(lambda: tab().uploads.keep_one(REVIEW, found.document))


def _keep_good(find: Callable[[], Path], *, every_ground: bool = False) -> None:
    """Keep the panels with good frames in the plan file's text, without the others."""
    from planner.answers.settle import kept_tables
    from planner.files.kept import keep_good
    from planner.files.plan_file.made_up_mark import marked_made_up
    from planner.files.plan_file.write import update_document

    now = session()
    now.faults.pop("keep", None)
    try:
        kept = keep_good(now.request, find(), every_ground=every_ground)
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

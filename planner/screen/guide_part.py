"""The guide in the app: a button that opens the page that belongs to where one stands."""

from __future__ import annotations

import streamlit as st

from planner.guide.entries import unlinked
from planner.guide.pages import SUBJECTS, guide_page, guide_pages

from .state import guarded

__all__ = ["PAGE_SUBJECTS", "guide_button"]

PAGE_SUBJECTS = {
    "Compose": "app",
    "Targets": "targets",
    "Angles": "camera-angle",
    "Nights": "nights",
    "Hand over": "handover",
    "Review": "review",
}
"""Which page of the guide belongs to which page of the app."""
OPEN = "guide_open"
"""Where the session keeps the subject of the page that is open."""


def guide_button(page: str) -> None:
    """Show the button; it opens the guide over the page, where one can turn to its other pages too.

    It stays open while the page is made anew behind it, until it is closed.
    """
    st.button("Guide", key="guide", on_click=_open, args=(PAGE_SUBJECTS.get(page, SUBJECTS[0]),))
    subject = st.session_state.get(OPEN)
    if subject:
        st.dialog("Guide", width="large", on_dismiss=_close)(_show)(subject)


@guarded
def _open(subject: str) -> None:
    st.session_state[OPEN] = subject


@guarded
def _close() -> None:
    st.session_state[OPEN] = None


def _show(subject: str) -> None:
    titles = {one.subject: one.title for one in guide_pages()}
    wanted = st.selectbox(
        "Page",
        list(titles),
        index=list(titles).index(subject),
        key=f"guide_page:{subject}",
        format_func=lambda one: titles[one],
        label_visibility="collapsed",
    )
    st.markdown(unlinked(guide_page(wanted).text))

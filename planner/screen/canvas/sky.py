"""The sky on a page: what it shows, and what comes back from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.screen.state import guarded, session, show_fault, tab
from planner.session.scene import Cap, backdrop_data

from . import canvas

if TYPE_CHECKING:
    from planner.answers.plan import Draft

__all__ = ["sky_part"]

KEY = "sky"


def _sky_part() -> None:
    """Show the sky; it asks for the answers to gestures itself (`route`), and the page follows."""
    show_fault("canvas")
    plan = tab().look()
    if plan is not None:
        show_sky(plan)
    if st.session_state.pop("page_behind", False):
        st.rerun()


sky_part = st.fragment(_sky_part)


def show_sky(plan: Draft) -> None:
    """Show the sky with a plan; gestures change the session's plan file."""
    state, look = st.session_state, session().look
    cap = state.setdefault("cap", Cap.of_plan(plan))
    data = tab().sky() | {
        "cap": cap.data,
        "sky": {"key": cap.key} if state.pop("sky_held", None) == cap.key else backdrop_data(cap),
        "look": {
            "n": look.number,
            "fit": look.center_deg is None,
            "ra": look.center_deg and look.center_deg[0],
            "dec": look.center_deg and look.center_deg[1],
            "half": look.half_deg,
        },
    }
    canvas.mount(
        key=KEY,
        data=data,
        height="content",
        on_gesture_change=_gesture,
        on_settled_change=_settled,
        on_view_change=_view,
    )


def _sent(name: str) -> Any:
    """Return what the canvas sent, if it is meant for this session; remember which stars it has already."""
    value = (st.session_state.get(KEY) or {}).get(name)  # it may be on no page any more
    if not value or value.get("sid") != session().id:
        return None
    st.session_state["sky_held"] = value.get("sky")
    return value


@guarded
def _gesture() -> None:
    """Take gestures over that the canvas could not bring by itself."""
    sent = _sent("gesture")
    if sent:
        tab().take(sent["messages"])


@guarded
def _settled() -> None:
    """Let the page follow: the answer to a gesture has been drawn."""
    if _sent("settled"):
        st.session_state["page_behind"] = True


@guarded
def _view() -> None:
    view = _sent("view")
    if view:
        st.session_state["cap"] = Cap.about(view["ra"], view["dec"], view["reach"])

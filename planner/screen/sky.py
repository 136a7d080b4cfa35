"""The sky on a page: what it shows, and what comes back from it."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from typing import Any

import streamlit as st

from planner.draw.canvas import canvas
from planner.draw.canvas.scene import Cap, backdrop_data, scene_data
from planner.errors import PlannerError
from planner.regions import find_region

from .state import curves, desk, kept, session, show_fault

__all__ = ["sky_part"]

KEY = "sky"


def _sky_part() -> None:
    """Show the sky; a gesture runs this part alone, so that its answer comes at once; the page follows."""
    state, now = st.session_state, session()
    show_fault("canvas")
    try:
        state["seen_plan"] = desk().answer(now.request).plan
    except PlannerError:
        state.setdefault("seen_plan", None)  # the sentence stands beside; the sky keeps the last good plan
    if state["seen_plan"] is not None:
        show_sky(state["seen_plan"])
    if state.pop("page_behind", False):
        st.rerun()


sky_part = st.fragment(_sky_part)


def show_sky(plan: Any) -> None:
    """Show the sky with a plan; gestures change the session's plan file."""
    now, state = session(), st.session_state
    cap = state.setdefault("cap", Cap.of_plan(plan))
    look = now.look
    data = _scene(plan) | {
        "rev": now.revision,
        "sid": now.id,
        "said": now.said,
        "cap": cap.data,
        "sky": {"key": cap.key} if state.pop("sky_held", None) == cap.key else backdrop_data(cap),
        "look": {
            "n": look.number,
            "fit": look.center_deg is None,
            "ra": look.center_deg and look.center_deg[0],
            "dec": look.center_deg and look.center_deg[1],
            "half": look.half_deg,
        },
        "can_undo": bool(now.history.past),
        "can_redo": bool(now.history.future),
    }
    canvas.mount(
        key=KEY,
        data=data,
        height="content",
        on_gesture_change=_gesture,
        on_rest_change=_rest,
        on_settled_change=_settled,
        on_view_change=_view,
    )


def _scene(plan: Any) -> dict[str, Any]:
    """Return the plan's part, made anew only for another plan."""

    def make() -> dict[str, Any]:
        bare = find_region(replace(plan.request.region, margin_arcmin=0.0)).region
        return scene_data(plan, bare)

    data: dict[str, Any] = kept("scene", plan, make)
    return data


def _sent(name: str) -> Any:
    """Return what the canvas sent, if it is meant for this session; remember which stars it has already."""
    value = st.session_state[KEY].get(name)
    if not value or value.get("sid") != session().id:
        return None
    st.session_state["sky_held"] = value.get("sky")
    return value


def _gesture() -> None:
    sent = _sent("gesture")
    curves().rest()
    for message in sent["messages"] if sent else ():
        session().gesture(st.session_state.get("seen_plan"), message)


def _rest() -> None:
    """Work the plan out while the hand rests, so that it is at hand when it lets go."""
    message, plan = _sent("rest"), st.session_state.get("seen_plan")
    request = session().foreseen(plan, message) if message and plan else None
    if request is not None:
        with contextlib.suppress(PlannerError):
            desk().answer(request)


def _settled() -> None:
    """Let the page follow: the answer to a gesture has been drawn."""
    if _sent("settled"):
        st.session_state["page_behind"] = True


def _view() -> None:
    view = _sent("view")
    if view:
        st.session_state["cap"] = Cap.about(view["ra"], view["dec"], view["reach"])

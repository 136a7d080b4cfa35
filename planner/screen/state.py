"""What a browser tab's session holds, and inputs that mirror the plan.

Inputs that the model overwrites have no `on_change`: every message of the browser carries the values of all
inputs, so that an old value would look like an edit. They stand in forms and are read when one is submitted.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import streamlit as st

from planner.errors import PlannerError
from planner.session.curves import CurveDesk
from planner.session.opening import first_session
from planner.session.plans import Answer, PlanDesk
from planner.session.session import Session
from planner.session.tab import Tab

__all__ = [
    "begin",
    "curves",
    "desk",
    "kept",
    "mended",
    "mirror",
    "plan_answer",
    "session",
    "show_fault",
    "tab",
]

BROKEN = (
    "This page broke: a defect of the planner, told in its log. The plan is unharmed; undo or open it again."
)


def begin(state: Any, arguments: Sequence[str]) -> None:
    """Set the session up, with the plan file named on the command line or a sample."""
    if "tab" in state:
        return
    path = Path(arguments[0]) if arguments else None
    try:
        state["tab"] = Tab(first_session(path))
    except PlannerError as error:
        state["tab"] = Tab(first_session(None))
        session().faults["open"] = str(error)


@contextmanager
def mended() -> Iterator[None]:
    """Show a defect of ours as one sentence; what happened stands in the server's log."""
    try:
        yield
    except Exception:
        logging.getLogger("planner").exception("a page broke")
        st.error(BROKEN)


def tab() -> Tab:
    """Return what this browser tab works with."""
    found: Tab = st.session_state["tab"]
    return found


def session() -> Session:
    """Return the plan of this browser tab."""
    return tab().session


def desk() -> PlanDesk:
    """Return this tab's desk: one better plan at a time is made for each tab."""
    return tab().desk


def curves() -> CurveDesk:
    """Return this tab's curves of panel count against angle."""
    return tab().curves


def plan_answer() -> Answer | None:
    """Return the plan of the session, or None after showing why there is none."""
    try:
        return desk().answer(session().request)
    except PlannerError as error:
        st.error(str(error))
        return None


def mirror(key: str, value: Any) -> str:
    """Let an input show a value of the model; what is being typed stays until the model changes."""
    shown = st.session_state.setdefault("shown", {})
    if key not in st.session_state or shown.get(key, ...) != value:
        st.session_state[key] = shown[key] = value
    return key


def kept(name: str, key: Any, make: Callable[[], Any]) -> Any:
    """Return what was made under this name for an equal key, or make it: reruns compute only what changed."""
    store = st.session_state.setdefault("kept", {})
    if name not in store or store[name][0] != key:
        store[name] = (key, make())
    return store[name][1]


def show_fault(place: str) -> None:
    """Show the sentence that belongs to a place, if there is one."""
    fault = session().faults.get(place)
    if fault:
        st.error(fault)

"""What a browser tab's session holds."""

from __future__ import annotations

import functools
import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from planner.errors import PlannerError
from planner.session.curves import CurveDesk
from planner.session.opening import first_session
from planner.session.plans import Answer, PlanDesk
from planner.session.session import Session
from planner.session.sharing.layouts import own_plan
from planner.session.tab import Tab

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

    from planner.answers.plan import Plan

__all__ = [
    "begin",
    "curves",
    "desk",
    "download",
    "guarded",
    "in_place",
    "kept",
    "leave_made",
    "mended",
    "on_defect",
    "plan_answer",
    "session",
    "show_fault",
    "tab",
    "take_made",
]

Acts = ParamSpec("Acts")
Made = TypeVar("Made")
LOG = logging.getLogger("planner")
MADE = ("kept", "reviewed", "nights_asked", "given_frames", "found_solutions", "practice")
"""What pages made, which lasts over a reload."""
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
    state["tab"].is_open = _is_shown()


def _is_shown() -> Callable[[], bool]:
    """Return what tells whether a browser is connected to this session."""
    if not st.runtime.exists():
        return lambda: True
    context = get_script_run_ctx()
    found = context.session_id if context else ""
    return lambda: st.runtime.exists() and bool(st.runtime.get_instance().is_active_session(found))


def in_place() -> DeltaGenerator:
    """Return a container for what comes and goes: what stands below it keeps its place.

    The browser tells parts of a page apart by their places. One that moves is made anew as soon as what is sent next
    takes its place: an open list closes, and the cursor is lost.
    """
    return st.container()


@contextmanager
def mended() -> Iterator[None]:
    """Show a defect of ours as one sentence, and what an action left behind; the server's log has the rest."""
    try:
        if st.session_state.pop("broke", False):
            _show_broken("action")
        yield
    except Exception:
        LOG.exception("a page broke")
        _show_broken("page")


def guarded(act: Callable[Acts, object]) -> Callable[Acts, None]:
    """Wrap what a button does: a defect in it is told on the page, which stays."""

    @functools.wraps(act)
    def acted(*args: Acts.args, **kwargs: Acts.kwargs) -> None:
        try:
            act(*args, **kwargs)
        except Exception:
            LOG.exception("an action broke")
            st.session_state["broke"] = True

    return acted


def on_defect(error: Exception) -> bool:
    """Tell of a defect that nothing else caught, in the place of the framework's own page."""
    LOG.error("the app broke", exc_info=error)
    _show_broken("app")
    return True


def _show_broken(where: str) -> None:
    """Say what happened, and offer the plan file as it is now."""
    st.error(BROKEN)
    with suppress(Exception):  # where even the session is not there, the sentence must do
        now = session()
        st.download_button(
            "Download the plan file",
            now.history.present,
            now.path.name,
            "application/toml",
            key=f"broken_{where}",
            on_click="ignore",
        )


def download(label: str, make: Callable[[], bytes], name: str, kind: str) -> None:
    """Show a button that makes a file once it is pressed; the page does not run again for it."""
    st.download_button(label, make, name, kind, key=f"download_{name}", on_click="ignore")


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
    """Return the plan of the session, or None after showing why there is none.

    Where several instruments share the mosaic it is the part of the one that is chosen.
    """
    try:
        answer, now = desk().answer(session().request), session()
        own = tab().pictured.with_picture(now.shared, _own(answer), desk().draft)
        return replace(answer, plan=own)
    except PlannerError as error:
        st.error(str(error))
        return None


def _own(answer: Answer) -> Plan:
    one = session().instrument
    try:
        return kept("own", (answer.plan, one), lambda: own_plan(answer.plan, one))  # type: ignore[no-any-return]
    except PlannerError:
        if answer.final:
            raise
        return answer.plan  # the panels that it takes have their names only after the search


def kept(name: str, key: object, make: Callable[[], Made]) -> Made:
    """Return what was made under this name for an equal key, or make it: reruns compute only what changed."""
    store = st.session_state.setdefault("kept", {})
    if name not in store or not _same(store[name][0], key):
        store[name] = (key, make())
    made: Made = store[name][1]
    return made


def _same(one: object, other: object) -> bool:
    """Whether two keys are equal; those that hold arrays are so if they are one and the same."""
    if one is other:
        return True
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    try:
        return bool(one == other)
    except ValueError:
        return False


def leave_made() -> None:
    """Leave what pages made to the tab, at the end of a run: the session is another one after a reload."""
    state = st.session_state
    tab().made = {name: state[name] for name in MADE if name in state}


def take_made() -> None:
    """Take what pages made before the page was loaded anew."""
    for name, made in tab().made.items():
        st.session_state[name] = made


def show_fault(place: str) -> None:
    """Show the sentence that belongs to a place, if there is one."""
    fault = session().faults.get(place)
    with in_place():
        if fault:
            st.error(fault)

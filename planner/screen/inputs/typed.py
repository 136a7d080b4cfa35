"""What a browser tab remembers by itself (`typed.js`): values typed and not yet applied, and which plan was open."""

from __future__ import annotations

import datetime as dt
import re
import uuid
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import streamlit as st

from planner.errors import PlannerError
from planner.screen.state import guarded, session, tab, take_made
from planner.screen.tabs import open_again, opened
from planner.session.session import Session

from .mirror import INPUTS, known_kinds, type_again

__all__ = ["remember_typed"]

KEY = "typed_memory"
SERVER = uuid.uuid4().hex
"""Of this run of the planner."""
AWAY = (
    "The planner does not answer: it was stopped. What was not saved is kept; start it again, and this page "
    "goes on."
)
LOCKED = (
    "The planner was restarted: open the address that its command line printed. What was not saved is offered "
    "there."
)
RESTARTED = "The planner was restarted; nothing here was unsaved."
mount = st.components.v2.component(
    "typed_memory",
    html="<span hidden></span>",
    js=(Path(__file__).parent / "typed.js").read_text(encoding="utf-8"),
)


def remember_typed(page: str = "") -> None:
    """Tell the browser which inputs there are, and what the plan has for each.

    Parameters
    ----------
    page : str
        Path of the page that is shown.
    """
    now, inputs = session(), st.session_state.get(INPUTS, {})
    mount(
        key=KEY,
        data={
            "plan": str(now.path),
            "own": now.own,
            "id": now.unsaved.id,
            "server": SERVER,
            "session": now.id,
            "tabs": opened(),
            "page": page,
            "inputs": {
                _css_name(key): {"kind": kind, "shown": _text(shown)} for key, (kind, shown) in inputs.items()
            },
            "words": {"away": AWAY, "locked": LOCKED},
        },
        on_typed_change=_typed,
        on_back_change=_came_back,
    )


def _css_name(key: str) -> str:
    """Return how the framework writes a key in the names of CSS classes."""
    return re.sub(r"[^a-zA-Z0-9_-]", "-", key.strip())


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return "" if value is None else str(value)


def _sent(name: str) -> Mapping[str, Any]:
    return (st.session_state.get(KEY) or {}).get(name) or {}


@guarded
def _typed() -> None:
    """Let inputs that came back show what was typed into them."""
    sent = _sent("typed")
    if sent.get("id") != session().unsaved.id:
        return
    for key, kind in known_kinds().items():
        text = sent["inputs"].get(_css_name(key))
        if text is not None:
            type_again(key, _value(kind, str(text)))


def _value(kind: str, text: str) -> Any:
    """Return what was typed as the input takes it; ... where it takes it no more."""
    try:
        if kind == "number":
            return float(text) if text.strip() else None
        if kind == "whole":
            return int(float(text)) if text.strip() else None
        if kind == "date":
            return dt.date.fromisoformat(text) if text else None
    except (ValueError, OverflowError):
        return ...
    return text == "true" if kind == "check" else text


@guarded
def _came_back() -> None:
    """Go on where this browser tab was before the page was loaded anew or the planner restarted."""
    before, now = _sent("back"), session()
    if not before or before.get("session") == now.id:
        return
    path, here = Path(str(before.get("plan", ""))), tab()
    here.go_on(str(before.get("id")), str(before.get("session")))
    take_made()
    open_again(before.get("tabs") or {})
    if path != now.path and not now.changed and not now.history.past:
        try:
            here.show(Session.open(path, own=bool(before.get("own"))))
        except PlannerError:
            now.faults["open"] = (
                f"the plan that was open here before, {path.name!r}, cannot be opened any more"
            )
    if before.get("server") != SERVER and not here.kept_texts():
        st.session_state["notice"] = (RESTARTED, here.session.revision)

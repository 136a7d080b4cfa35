"""How a page behaves in the browser (`behave.js`): undo keys anywhere, refusals seen, bubbles thin."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from planner.screen.state import guarded, session

__all__ = ["behave"]

KEY = "behaviour"
mount = st.components.v2.component(
    KEY,
    html="<span hidden></span>",
    js=(Path(__file__).parent / "behave.js").read_text(encoding="utf-8"),
)


def behave() -> None:
    """Let the page behave so."""
    mount(key=KEY, on_step_change=_step)


@guarded
def _step() -> None:
    """Undo or redo, where the sky is on another page and does not do it itself; say what changed."""
    kind = (st.session_state.get(KEY) or {}).get("step")
    if kind in ("undo", "redo"):
        session().step(kind)
        st.toast(session().said)

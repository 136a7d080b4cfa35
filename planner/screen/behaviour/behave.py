"""How a page behaves in the browser (`behave.js`): undo keys anywhere, refusals seen, bubbles thin.

Steps are numbered: the browser sends them until it sees that they were done, and each is done once.
"""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from planner.screen.state import guarded, session

__all__ = ["behave"]

KEY = "behaviour"
DONE = "steps_done"
"""Number of the last step that was done."""
mount = st.components.v2.component(
    KEY,
    html="<span hidden></span>",
    js=(Path(__file__).parent / "behave.js").read_text(encoding="utf-8"),
)


def behave(revision: int) -> None:
    """Let the page behave so.

    Parameters
    ----------
    revision : int
        Of the plan when this run began: what is shown is at least as new.
    """
    data = {"sid": session().id, "rev": revision, "done": st.session_state.get(DONE, 0)}
    mount(key=KEY, data=data, on_step_change=_step)


@guarded
def _step() -> None:
    """Undo or redo, where the sky is on another page and does not do it itself; say what changed.

    Without steps the sky did it while its page was being left.
    """
    sent, now = (st.session_state.get(KEY) or {}).get("step"), session()
    if not sent or sent["sid"] != now.id:
        return
    fresh = [one for one in sent["steps"] if one["n"] > st.session_state.get(DONE, 0)]
    for one in fresh:
        now.step(one["kind"])
        st.session_state[DONE] = one["n"]
    if now.said and (fresh or not sent["steps"]):
        st.toast(now.said)

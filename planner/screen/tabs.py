"""Tabs of which only the open one is made: the browser redraws all that stands on a page with every answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st

__all__ = ["open_again", "open_parts", "opened"]

CHOSEN, AGAIN = "tabs_chosen", "tabs_again"
"""Where the session keeps which tab is open, for each row of tabs; and which are to be opened."""


def opened() -> dict[str, str]:
    """Return the tab that is open, for each row of tabs that was ever shown."""
    found: dict[str, str] = st.session_state.setdefault(CHOSEN, {})
    return found


def open_again(names: Mapping[str, str]) -> None:
    """Let tabs be open that were so before the page was loaded anew."""
    st.session_state[AGAIN] = dict(names)


def open_parts(key: str, parts: Mapping[str, Callable[[], object]]) -> None:
    """Show tabs, and in the open one its part; who comes back from another page finds the tab that was open.

    Parameters
    ----------
    key : str
    parts : mapping
        Names of the tabs to what shows their contents.
    """
    state = st.session_state
    chosen, again = opened(), state.get(AGAIN, {}).pop(key, None)
    left = None if key in state else chosen.get(key)  # with its page
    wanted = again or left
    if wanted in parts:
        state[key] = wanted
    tabs = st.tabs(list(parts), key=key, on_change="rerun")
    for tab, (name, show) in zip(tabs, parts.items(), strict=True):
        if tab.open:
            chosen[key] = name
            with tab:
                show()

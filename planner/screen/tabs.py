"""Tabs of which only the open one is made: the browser redraws all that stands on a page with every answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st

__all__ = ["open_parts"]

CHOSEN = "tabs_chosen"
"""Where the session keeps which tab is open, for each row of tabs."""


def open_parts(key: str, parts: Mapping[str, Callable[[], object]]) -> None:
    """Show tabs, and in the open one its part; who comes back from another page finds the tab that was open.

    Parameters
    ----------
    key : str
    parts : mapping
        Names of the tabs to what shows their contents.
    """
    state = st.session_state
    chosen: dict[str, str] = state.setdefault(CHOSEN, {})
    if key not in state and chosen.get(key) in parts:
        state[key] = chosen[key]  # the page was left
    tabs = st.tabs(list(parts), key=key, on_change="rerun")
    for tab, (name, show) in zip(tabs, parts.items(), strict=True):
        if tab.open:
            chosen[key] = name
            with tab:
                show()

"""Tabs of which only the open one is made: the browser redraws all that stands on a page with every answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st

__all__ = ["open_parts"]


def open_parts(key: str, parts: Mapping[str, Callable[[], object]]) -> None:
    """Show tabs, and in the open one its part.

    Parameters
    ----------
    key : str
    parts : mapping
        Names of the tabs to what shows their contents.
    """
    for tab, show in zip(st.tabs(list(parts), key=key, on_change="rerun"), parts.values(), strict=True):
        if tab.open:
            with tab:
                show()

"""Inputs of a page that last when another page is shown."""

from __future__ import annotations

from typing import Any

import streamlit as st

__all__ = ["lasting", "noted"]

LAST = "targets_last"


def lasting(key: str, default: Any) -> str:
    """Let an input begin with what it showed last in this session; return its key.

    The framework forgets the inputs of a page that is left; call `noted` once they have been made.
    """
    if key not in st.session_state:
        st.session_state[key] = st.session_state.setdefault(LAST, {}).get(key, default)
    return key


def noted(*keys: str) -> None:
    """Remember what inputs show."""
    last = st.session_state.setdefault(LAST, {})
    last.update({key: st.session_state[key] for key in keys if key in st.session_state})

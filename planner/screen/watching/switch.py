"""The switch by which a folder is followed."""

from __future__ import annotations

import streamlit as st

__all__ = ["FOLLOWING", "follow_switch", "stop_following"]

FOLLOW = "review_follow"
"""Key of the switch."""
FOLLOWING = "following"
"""Where a browser tab keeps what it follows."""


def follow_switch() -> bool:
    """Show the switch; return whether the folder is to be followed."""
    return bool(
        st.toggle(
            "Follow the folder",
            key=FOLLOW,
            help="While this page is open the folder is looked at every two seconds: frames are judged as they "
            "come in. `review --watch` does the same without a browser.",
        )
    )


def stop_following() -> None:
    """Forget what was followed."""
    st.session_state.pop(FOLLOWING, None)

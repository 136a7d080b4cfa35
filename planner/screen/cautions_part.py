"""The cautions of a page, as one box."""

from __future__ import annotations

import streamlit as st

from planner.request.request import Request
from planner.rig.cautions import cautions_for

__all__ = ["cautions_part"]


def cautions_part(request: Request, *, turns: bool = True, follows: bool = False) -> None:
    """Show the cautions that belong to what a page asks for; see `planner.rig.cautions.cautions_for`."""
    lines = cautions_for(request.angle_device, request.mount, turns=turns, follows=follows)
    st.warning("\n".join(f"- {line}" for line in lines))

"""The camera angle: which one, and what other angles would cost in panels."""

from __future__ import annotations

from typing import Any

import streamlit as st

from planner.request import Request

from .state import mirror, session, show_fault

__all__ = ["angle_part"]

FEWEST, SQUARE, OWN = "fewest panels", "square with the picture", "this angle"


def angle_part(request: Request, plan: Any) -> None:
    """Show the choice of angle and the curve of panel count against angle."""
    pinned = request.mosaic.position_angle_deg
    with st.form("angle", border=False):
        st.radio(
            "Camera angle", [FEWEST, SQUARE, OWN], key=mirror("angle_mode", FEWEST if pinned is None else OWN)
        )
        present = pinned if pinned is not None else plan.mosaic.panels[0].position_angle_deg if plan else 0.0
        st.number_input("Angle (deg)", key=mirror("angle_value", round(present, 2)), step=1.0, format="%.2f")
        st.form_submit_button("Apply", on_click=_apply, args=(plan,))
    show_fault("angle")


def _apply(plan: Any) -> None:
    mode = st.session_state["angle_mode"]
    angle = None
    if mode == OWN or (mode == SQUARE and plan is None):
        angle = round(float(st.session_state["angle_value"]), 2)
    elif mode == SQUARE:
        angle = round(plan.picture.position_angle_deg, 2)
    session().edit("angle", {"mosaic.position_angle_deg": angle}, "The camera angle changed.")

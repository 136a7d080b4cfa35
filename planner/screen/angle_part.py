"""The camera angle: which one, and what other angles would cost in panels."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import streamlit as st

from planner.draw.canvas.curve import mount_curve
from planner.draw.canvas.scene import angles_agree
from planner.errors import PlannerError
from planner.request import Request
from planner.session.angle_counts import AngleCounts, angle_counts
from planner.session.gestures import square_edits

from .state import kept, mirror, session, show_fault

__all__ = ["angle_part"]

FEWEST, SQUARE, OWN = "fewest panels", "square with the picture", "this angle"
CURVE = "angle_curve"
MOST_PANELS = 500
"""Of larger mosaics no curve is shown: it would keep the page waiting."""
BEST = "The middle of the widest run of angles at which rows need the fewest panels: the orange dot"


def angle_part(request: Request, plan: Any) -> None:
    """Show the choice of angle and the curve of panel count against angle."""
    pinned = request.mosaic.position_angle_deg
    present = _present_deg(plan) if plan is not None else pinned
    with st.form("angle", border=False):
        st.radio("Camera angle", [FEWEST, SQUARE, OWN], key=mirror("angle_mode", _mode(request)))
        st.number_input(
            "Angle (deg)",
            key=mirror("angle_value", round(present or 0.0, 2)),
            step=1.0,
            format="%.2f",
            help="Position angle of the panels' up, east of north",
        )
        st.form_submit_button("Apply", on_click=_apply, args=(plan,))
    show_fault("angle")
    if plan is not None and not request.panels and len(plan.mosaic.panels) <= MOST_PANELS:
        _curve_part(request, present)


def _mode(request: Request) -> str:
    pinned, picture = request.mosaic.position_angle_deg, request.picture
    if pinned is None:
        return FEWEST
    stated = picture.position_angle_deg if picture else None
    return SQUARE if stated is not None and angles_agree(pinned, stated) else OWN


def _present_deg(plan: Any) -> float:
    """Return the angle of the panels, of their axes where each is square with the picture."""
    axes = plan.mosaic.axes
    return float((axes or plan.mosaic.panels[0]).position_angle_deg)


def _curve_part(request: Request, present: float | None) -> None:
    mosaic = replace(request.mosaic, position_angle_deg=None)
    key = request.region, request.camera, mosaic
    try:
        found: AngleCounts = kept("angle_counts", key, lambda: angle_counts(request))
    except PlannerError:
        return  # the plan itself says why
    st.caption("Panels in rows at each angle; a search may do with fewer")
    mount_curve(
        key=CURVE,
        height=176,
        data={
            "angles": found.angles_deg,
            "counts": found.counts,
            "span": found.span_deg,
            "present": present,
            "best": found.best_deg,
        },
        on_angle_change=_picked,
    )
    if request.mosaic.position_angle_deg is None:
        st.caption("The angle is searched: the green line is the best that was found.")
        return
    with st.container(horizontal=True):
        st.button("Let the search find the best", key="angle_search", on_click=_take, args=(None,))
        st.button(
            f"Take {found.best_deg:g}°", key="angle_best", on_click=_take, args=(found.best_deg,), help=BEST
        )


def _picked() -> None:
    angle = st.session_state[CURVE].get("angle")
    if angle is not None:
        _take(float(angle))


def _take(angle_deg: float | None) -> None:
    words = "searched" if angle_deg is None else f"{angle_deg:g} degrees"
    session().edit("angle", {"mosaic.position_angle_deg": angle_deg}, f"The camera angle is {words} now.")


def _apply(plan: Any) -> None:
    mode, angle = st.session_state["angle_mode"], round(float(st.session_state["angle_value"]), 2)
    edits: dict[str, Any] = {"mosaic.position_angle_deg": None if mode == FEWEST else angle}
    if mode == SQUARE and plan is not None:
        edits = square_edits(plan)
    session().edit("angle", edits, "The camera angle changed.")

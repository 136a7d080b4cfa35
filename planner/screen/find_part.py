"""Finding: go to an object or a position, or make it the region."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.errors import PlannerError
from planner.session.finding import find_position
from planner.session.gestures import region_edits

from .inputs.mirror import mirror
from .state import guarded, session, show_fault

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["find_part"]

CLOSE_DEG = 4.0
"""Half the height of the view after going to a place."""


def find_part(plan: Plan) -> None:
    """Show the search."""
    with st.form("find", border=False):
        st.text_input(
            "Object or position",
            key=mirror("find_text", session().picked),
            placeholder="NGC 3372, or 08h34m -45d50m",
        )
        left, right = st.columns(2)
        left.form_submit_button("Go there", on_click=_go, width="stretch")
        right.form_submit_button("Make it the region", on_click=_take, args=(plan,), width="stretch")
    show_fault("find")


def _found() -> tuple[str | None, tuple[float, float]] | None:
    now = session()
    now.faults.pop("find", None)
    try:
        return find_position(str(st.session_state["find_text"]))
    except PlannerError as error:
        now.faults["find"] = str(error)
        return None


@guarded
def _go() -> None:
    found = _found()
    if found:
        session().look_at(found[1], CLOSE_DEG)


@guarded
def _take(plan: Plan) -> None:
    found = _found()
    if found and session().edit(
        "find", _edits(found, plan), f"The region is now {found[0] or 'centred there'}."
    ):
        session().look_at()


def _edits(found: tuple[str | None, tuple[float, float]], plan: Plan) -> dict[str, Any]:
    name, (ra_deg, dec_deg) = found
    if name is not None:
        return region_edits(object=name)
    center = [round(ra_deg, 5), round(dec_deg, 5)]
    if plan is None or plan.request.region.center is not None:
        return {"region.center": center}
    picture = plan.picture
    return region_edits(
        center=center,
        width_deg=round(picture.width_deg, 4),
        height_deg=round(picture.height_deg, 4),
        position_angle_deg=round(picture.position_angle_deg, 2) or None,
    )

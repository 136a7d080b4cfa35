"""The parts of the region as a list: each with its margin, to be added by name and taken out."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from planner.errors import PlannerError
from planner.request.region import RegionRequest
from planner.screen.inputs.mirror import mirror, show_again
from planner.screen.state import guarded, session, show_fault
from planner.session.gestures import Edits
from planner.session.parts import margin_edits, named_edits, removed_edits

__all__ = ["add_part", "parts_list"]

PLACE, ADD = "parts", "part_added"
MOST_SHOWN = 7
"""A longer list scrolls."""
LIST_HEIGHT_PX = 330
COLUMNS = (4, 4, 4)


def parts_list(region: RegionRequest) -> None:
    """Show the parts with their margins; nothing where the region is one thing."""
    if not region.all_parts:
        return
    height = LIST_HEIGHT_PX if len(region.all_parts) > MOST_SHOWN else "content"
    with st.form("parts", border=False):
        st.caption("Each part with its margin, in arc minutes")
        with st.container(height=height, border=False, gap="small"):
            for number, name in enumerate(region.part_names):
                _row(number, name, region.all_parts[number].margin_arcmin)
        st.form_submit_button("Apply margins", on_click=_apply, args=(region.part_names,))
    show_fault(PLACE)


def _row(number: int, name: str, margin_arcmin: float) -> None:
    left, middle, right = st.columns(COLUMNS, vertical_alignment="center")
    left.text(name)
    middle.number_input(
        f"Margin of {name} (arcmin)",
        value=None,
        key=mirror(_key(number, name), round(margin_arcmin, 2), "number"),
        step=1.0,
        format="%.1f",
        label_visibility="collapsed",
    )
    right.form_submit_button(
        "Remove",
        key=f"part_out_{number}",
        on_click=_take_out,
        args=(number, name),
        help=f"Take {name} out of the region",
    )


def _key(number: int, name: str) -> str:
    return f"{PLACE}:{number}:{name}"


def add_part() -> None:
    """Show where a part is named to be added."""
    with st.form("add_part", border=False):
        left, right = st.columns([3, 2], vertical_alignment="bottom")
        left.text_input(
            "Another nebula or object", key=mirror("part_named", "", "text"), placeholder="Sh2-129"
        )
        right.form_submit_button("Add it", on_click=_add, width="stretch")
    show_fault(ADD)


@guarded
def _add() -> None:
    name = str(st.session_state["part_named"])
    if _edit(ADD, lambda text: named_edits(text, name), f"{name} belongs to the region now."):
        show_again(["part_named"])
        session().look_at()


@guarded
def _take_out(number: int, name: str) -> None:
    if _edit(PLACE, lambda text: removed_edits(text, number), f"{name} is out of the region."):
        session().look_at()


@guarded
def _apply(names: tuple[str, ...]) -> None:
    margins = [st.session_state[_key(number, name)] for number, name in enumerate(names)]
    _edit(PLACE, lambda text: margin_edits(text, margins), "The margins changed.")


def _edit(place: str, find: Callable[[str], Edits], said: str) -> bool:
    """Change the region as a function of the text says; what it refuses is told at its place."""
    now = session()
    now.faults.pop(place, None)
    try:
        edits = find(now.history.present)
    except PlannerError as error:
        now.faults[place] = str(error)
        return False
    return now.edit(place, edits, said)

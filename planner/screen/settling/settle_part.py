"""Settling: keep the panels in the plan file, or let them go; one press, and undo takes it back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import PlannerError
from planner.screen.state import desk, guarded, session
from planner.session.session import Session, chosen_of
from planner.session.sharing.layouts import settled_text

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["settle", "settle_button", "settle_now_button", "unsettle"]

SETTLE_HELP = "Keep the panels as they are in the plan file: no search changes them any more."
DECIMALS = 6
"""Of a camera angle that is asked for, degrees."""
LET_GO_HELP = (
    "The panels are settled: kept in the plan file. This takes them out, so that the search may find others."
)


def settle_button() -> None:
    """Show the bar's button: settle the panels, or let settled ones go."""
    request = _present()
    if request is None or (request.panels and request.settled is None and not request.grows):
        return  # no plan, or panels that the user lists
    if request.settled is None:
        st.button("Settle", key="settle", help=SETTLE_HELP, on_click=settle)
    else:
        st.button("Let the search change panels", key="unsettle", help=LET_GO_HELP, on_click=unsettle)


def settle_now_button() -> None:
    """Show the button beside the notice that a search may still change the panels."""
    st.button("Settle now", key="settle_now", help=SETTLE_HELP, on_click=settle)


def _present() -> Request | None:
    try:
        return session().request
    except PlannerError:
        return None


@guarded
def settle() -> None:
    """Keep the panels of the plan that is shown now, and of the layouts beside it."""
    now = session()
    now.faults.pop("settle", None)
    try:
        text, count = _settled(now)
    except PlannerError as error:
        now.faults["settle"] = str(error)
        return
    now.replace_text("settle", text, f"The plan file keeps {count} panels now.")


def _settled(now: Session) -> tuple[str, int]:
    """Return the plan file's text with the panels kept, and how many these are."""
    from planner.answers.settle import settled_tables
    from planner.files.plan_file.read import request_from_text
    from planner.files.plan_file.shared import sharing_from_text
    from planner.files.plan_file.write import update_document

    text = _asked_as_kept(now)
    shared = sharing_from_text(text, path=now.path)
    if shared is not None:
        shown = chosen_of(shared, now.chosen)
        return settled_text(text, shared, shown, lambda asked: desk().answer(asked).plan)
    plan = desk().answer(request_from_text(text, path=now.path)).plan
    return update_document(text, settled_tables(plan)), len(plan.mosaic.panels)


def _asked_as_kept(now: Session) -> str:
    """Return the plan file's text; where it pins another angle than settled panels have, it asks for theirs."""
    from planner.answers.settled_words import other_angle_deg

    request, text = now.request, now.history.present
    if request.settled is None:
        return text
    mosaic = desk().answer(request).plan.mosaic
    theirs = other_angle_deg(request, mosaic)
    if theirs is None or not request.mosaic.allows_angle(theirs, mosaic.field.period_deg):
        return text
    return now.edited({"mosaic.position_angle_deg": round(theirs, DECIMALS)})


@guarded
def unsettle() -> None:
    """Let settled panels go, so that the search may find others."""
    from planner.answers.settle import unsettled_tables, unsettled_words
    from planner.files.plan_file.shared_settled import unsettled_shared_text
    from planner.files.plan_file.write import update_document
    from planner.files.text_file import parse_toml

    now = session()
    if now.shared is not None:
        text = unsettled_shared_text(now.history.present)
        now.replace_text("settle", text, "The plan file keeps no panels any more.")
        return
    document = parse_toml(now.history.present, None, "plan file")
    changes = unsettled_tables(document)
    text = update_document(now.history.present, changes)
    words = unsettled_words([str(one["name"]) for one in changes["panels"] or ()])
    now.replace_text("settle", text, f"The plan file {words}.")

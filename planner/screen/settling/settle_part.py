"""Settling: keep the panels in the plan file, or let them go; one press, and undo takes it back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import PlannerError
from planner.screen.state import desk, guarded, session
from planner.session.session import Session
from planner.session.sharing.layouts import settled_text

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["settle", "settle_button", "settle_now_button", "unsettle"]

SETTLE_HELP = "Keep the panels as they are in the plan file: no search changes them any more."
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
    from planner.files.plan_file.write import update_document

    if now.shared is not None and now.instrument is not None:
        return settled_text(
            now.history.present, now.shared, now.instrument, lambda asked: desk().answer(asked).plan
        )
    plan = desk().answer(now.request).plan
    return update_document(now.history.present, settled_tables(plan)), len(plan.mosaic.panels)


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

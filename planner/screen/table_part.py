"""The user's own table: described as text, shown at once as it will be written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.errors import InputError, PlannerError
from planner.files.text_file import parse_toml
from planner.request.request import Request
from planner.session.tables_text import tables_text, with_tables_text

from .inputs.mirror import mirror
from .state import guarded, session, show_fault

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["table_part"]

PREVIEW_CHARACTERS = 2500
BY_FILTER = re.compile(r'^rows = |name = "(filter|seconds|count)"')
"""Lines of the example that only a plan with filters can fill."""


def table_part(plan: Plan) -> None:
    """Show the description of the table, its first rows, and what its rounding loses."""
    st.markdown("##### A table of your own")
    present = _present_text(plan.request)
    st.text_area(
        "How the table is to be",
        key=mirror("table_text", present),
        height=320,
        help="The preview follows when you leave the field or press Ctrl+Enter.",
    )
    if st.session_state["table_text"] != present:
        st.caption("Not in the plan yet.")
    try:
        tables = _parsed(st.session_state["table_text"])
        _preview(tables, plan)
    except PlannerError as error:
        st.error(str(error))
        return
    st.button("Save it in the plan", on_click=_put, key="table_put")
    show_fault("table")


def _present_text(request: Request) -> str:
    """Return the plan file's own words, its setup file's tables, or an example that the plan gives ground for."""
    from planner.files.plan_file.write import update_document
    from planner.files.user_table.example import example_table

    found = tables_text(session().history.present)
    if found is not None:
        return found
    if request.tables:
        return update_document("", {"tables": list(request.tables)})
    lines = example_table().splitlines()
    if not request.filters:
        lines = [line for line in lines if not BY_FILTER.search(line)]
    return "\n".join(lines) + "\n"


def _parsed(text: str) -> list[dict[str, Any]]:
    document = parse_toml(text, None, "description")
    tables = document.get("tables")
    if set(document) != {"tables"} or not isinstance(tables, list):
        raise InputError("the description must hold [[tables]] and nothing else; begin it with [[tables]]")
    return tables


def _preview(descriptions: list[dict[str, Any]], plan: Plan) -> None:
    from planner.files.user_table.table import read_tables
    from planner.files.user_table.write import rounding_losses, table_bytes

    for table in read_tables(descriptions):
        text = table_bytes(table, plan).decode(table.encoding, errors="replace")
        st.caption(table.file + (", its beginning" if len(text) > PREVIEW_CHARACTERS else ""))
        st.code(text[:PREVIEW_CHARACTERS], language=None)
        for loss in rounding_losses(table, plan):
            st.warning(
                f"Rounding column {loss.column!r} moves a point of a frame by up to {loss.pixels:.2g} "
                "pixels: give it more decimals."
            )


@guarded
def _put() -> None:
    """Put the description into the plan file as it was typed, comments and all."""
    text = with_tables_text(session().history.present, str(st.session_state["table_text"]))
    session().replace_text("table", text, "The table is now in the plan file.")

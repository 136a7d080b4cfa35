"""The files of the hand-over: choose, make, look at them, download them as one zip."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.progress import Progress
from planner.request.request import Request
from planner.request.shared import Instrument
from planner.session.making import Making
from planner.session.plans import PlanDesk
from planner.session.sharing.layouts import own_plan

from .cautions_part import cautions_part
from .inputs.mirror import mirror
from .nights_part import chosen_goal, goal_words
from .state import desk, session
from .table_view import show_table

if TYPE_CHECKING:
    from planner.handover.index import HandoverFile
    from planner.night.timetable import Goal

__all__ = ["files_part"]

PREVIEW_CHARACTERS = 6000
MOST_LISTED = 400
LOOK_EVERY_S = 0.7


def files_part(request: Request) -> None:
    """Ask which kinds are wanted, make the files when told to, and show them."""
    from planner.handover.handover import HANDOVER_KINDS

    st.markdown("##### Files for the capture session", help=word_entries("hand-over"))
    names = [name for name, kind in HANDOVER_KINDS.items() if kind.has_ground(request)]
    chosen = st.pills(
        "Kinds of file",
        names,
        selection_mode="multi",
        format_func=lambda name: HANDOVER_KINDS[name].about,
        key=mirror("handover_kinds", names),
    )
    _files_of(request, names, chosen)
    cautions_part(request, follows=True)


def _files_of(request: Request, names: Sequence[str], chosen: Sequence[str]) -> None:
    """Make the files of the chosen kinds when told to, and show them."""
    if not request.tables:
        st.caption("Your own tables are made once the plan has them: see A table of your own.")
    wanted = tuple(name for name in names if name in chosen)
    if not wanted:
        st.caption("Choose at least one kind of file.")
        return
    state = st.session_state
    goal = chosen_goal()
    key = (request, wanted, goal)
    if "calendar" in wanted:
        st.caption(goal_words(goal, "The calendar's timetable"))
    if st.button("Make the files", type="primary", key="handover_make"):
        if state.get("handover_making") is not None:
            state["handover_making"].give_up()
        here, now = desk(), session()
        asked, one = now.request, now.instrument
        make = partial(_made, here, asked, one, wanted, goal)
        state["handover_making"] = Making(key, make)
    making: Making[list[HandoverFile]] | None = state.get("handover_making")
    if making is None or making.key != key:
        return
    if making.is_alive():
        _look_again(making)
    else:
        _show_made(making)


def _look(making: Making[list[HandoverFile]]) -> None:
    """Tell how far the files are; the rest of the page can be used meanwhile."""
    if not making.is_alive():
        st.rerun()
    what, share = making.progress
    st.progress(
        min(1.0, max(0.0, share)),
        text=f"Making the files: {what}, {share:.0%}" if what else "Making the files",
    )


_look_again = st.fragment(run_every=LOOK_EVERY_S)(_look)


def _show_made(making: Making[list[HandoverFile]]) -> None:
    try:
        files: list[HandoverFile] = making.made
    except PlannerError as error:
        st.error(str(error))
        return
    st.download_button(
        f"Download all {len(files)} files as one zip file",
        lambda: _zip(files),
        "handover.zip",
        "application/zip",
        key="handover_zip",
        on_click="ignore",
    )
    rows = [
        {"File": one.path, "kB": round(len(one.content) / 1000, 1), "Standard": one.standard}
        for one in files[:MOST_LISTED]
    ]
    show_table(rows, empty="No files.", decimals={"kB": 1}, first_px={"File": 290, "kB": 74})
    _preview(files)


def _made(
    here: PlanDesk,
    request: Request,
    one: Instrument | None,
    wanted: Sequence[str],
    goal: Goal,
    report: Progress,
) -> list[HandoverFile]:
    """Make the plan that the command line makes, and its files; of several instruments those of the chosen one."""
    from planner.handover.handover import handover_files

    return handover_files(own_plan(here.final(request), one), only=wanted, goal=goal, progress=report)


def _zip(files: Sequence[HandoverFile]) -> bytes:
    from planner.handover.folder import handover_zip

    return handover_zip(files)


def _preview(files: Sequence[HandoverFile]) -> None:
    by_path = {one.path: one for one in files}
    path = st.selectbox("Look at", list(by_path), key="handover_look")
    content = by_path[path].content
    if path.endswith(".pdf"):
        st.download_button("Open the PDF", content, path, "application/pdf", on_click="ignore")
        return
    try:
        text = content.decode()
    except UnicodeDecodeError:
        st.caption("Not a text file: it is in the zip.")
        return
    st.code(text[:PREVIEW_CHARACTERS] + (" …" if len(text) > PREVIEW_CHARACTERS else ""), language=None)

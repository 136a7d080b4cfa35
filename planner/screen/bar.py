"""The bar above every page: the plan's title, open, save, the plan as file, the red view."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import PlannerError
from planner.session.command_lines import COMMANDS, command_line
from planner.session.edits import change_words
from planner.session.opening import open_uploads, sample_files, save_plan, typed_path
from planner.session.plans import PlanDesk
from planner.session.session import Session
from planner.session.sharing.layouts import own_plan
from planner.session.unsaved import Kept
from planner.words import listed, plain_markdown

from .guide_part import guide_button
from .inputs.mirror import fresh_input, mirror
from .settling.settle_part import settle_button
from .sharing.instruments_part import instruments_part
from .state import desk, guarded, in_place, session, show_fault, tab

if TYPE_CHECKING:
    from streamlit.navigation.page import StreamlitPage

__all__ = ["show_bar", "show_pages"]

MOST_TOLD = 2
"""Of what an unsaved text has otherwise."""


def show_pages(pages: Sequence[StreamlitPage]) -> None:
    """Show the pages by name where the framework folds its own list of them away: on a telephone (`looks`)."""
    with st.container(horizontal=True, gap="small", key="pages"):
        for one in pages:
            st.page_link(one, width="content")


def show_bar(page: str) -> None:
    """Show the bar; the command line shown first is the one that matches the page."""
    now = session()
    with st.container(horizontal=True, vertical_alignment="center", gap="small", key="bar"):
        st.markdown(f"**{_plain(now)}**" + ("  ·  not saved" if now.changed else ""), width="stretch")
        with st.popover("Open", width="content"):
            _open_parts(now)
        with st.popover("Save", width="content"):
            _save_parts(now)
        with st.popover("As file", width="content"):
            _file_parts(now, page)
        settle_button()
        guide_button(page)
        st.toggle("Red view", key="red", help="Red on black, for dark-adapted eyes at the telescope")
    with in_place():
        _notes(now)


def _notes(now: Session) -> None:
    """Show what went wrong, what happened, and what there is that was not saved."""
    for place in ("open", "save", "settle"):
        show_fault(place)
    notice, revision = st.session_state.get("notice", ("", -1))
    if notice and revision == now.revision:
        st.info(notice)
    instruments_part()
    for number, kept in enumerate(tab().kept_texts()):
        _offer(kept, number)


def _offer(kept: Kept, number: int) -> None:
    """Offer an unsaved text of this plan."""
    with st.container(horizontal=True, vertical_alignment="center", gap="small", key=f"kept_{number}"):
        st.info(f"{_kept_words(kept)} {_difference(kept)}", width="stretch")
        st.button("Use my text", key=f"kept_take_{number}", on_click=_take_up, args=(kept,))
        st.button("Discard it", key=f"kept_drop_{number}", on_click=_let_go, args=(kept,))


def _kept_words(kept: Kept) -> str:
    when = f"{kept.when:%H:%M:%S}" if kept.when.date() == dt.date.today() else f"{kept.when:%Y-%m-%d %H:%M}"
    if kept.before_start:
        return f"The planner was restarted; your unsaved text of this plan is here, of {when}."
    return f"Your unsaved text of this plan is here, of {when}."


def _difference(kept: Kept) -> str:
    """Say what it has that the text shown has not, so that several can be told apart."""
    try:
        words = change_words(session().history.present, kept.text)
    except PlannerError:
        return ""
    return plain_markdown(f"It has {listed(words, MOST_TOLD)}." if words else "It has other remarks.")


@guarded
def _take_up(kept: Kept) -> None:
    tab().take_up(kept)


@guarded
def _let_go(kept: Kept) -> None:
    kept.let_go()


def _plain(now: Session) -> str:
    """Return the title, safe in Markdown."""
    try:
        title = now.request.title
    except PlannerError:
        title = now.path.stem
    return "".join("\\" + letter if letter in "\\`*_{}[]()<>#+-.!|~$:" else letter for letter in title)


def _take(opened: Session) -> None:
    """Put another plan in the place of this tab's."""
    tab().show(opened)
    st.session_state.pop("cap", None)


def _opened(named: Path | str, own: bool) -> None:
    session().faults.pop("open", None)
    try:
        _take(Session.open(typed_path(named) if isinstance(named, str) else named, own=own))
    except PlannerError as error:
        session().faults["open"] = str(error)


def _open_parts(now: Session) -> None:
    if now.changed:
        st.warning("This plan is not saved: opening another one lets its changes go.")
    with st.form("open_path", border=False):
        st.text_input(
            "Plan file on this machine", key=mirror("open_path_text", ""), placeholder="/home/me/shell.toml"
        )
        st.form_submit_button("Open the file", on_click=_open_typed)
    with st.form("open_upload", border=False):
        st.file_uploader(
            "Or upload it, with the setup and outline files that it names",
            accept_multiple_files=True,
            type=["toml", "csv", "fits", "fit"],
            key="open_files",
        )
        st.form_submit_button("Open these", on_click=_open_uploaded)
    samples = sample_files()
    if samples:
        with st.form("open_sample", border=False):
            st.selectbox(
                "Or a sample", list(samples), key=mirror("open_sample_title", next(iter(samples)), "choice")
            )
            st.form_submit_button("Open the sample", on_click=_open_sample)


@guarded
def _open_typed() -> None:
    text = str(st.session_state["open_path_text"]).strip()
    if text:
        _opened(text, own=True)


@guarded
def _open_sample() -> None:
    _opened(sample_files()[st.session_state["open_sample_title"]], own=False)


@guarded
def _open_uploaded() -> None:
    files = {one.name: one.getvalue() for one in st.session_state["open_files"] or []}
    session().faults.pop("open", None)
    try:
        _take(open_uploads(tab().uploads, files))
    except PlannerError as error:
        session().faults["open"] = tab().uploads.named(str(error))


def _save_parts(now: Session) -> None:
    default = now.path if now.own else Path.cwd() / now.path.name
    with st.form("save", border=False):
        key, shown = fresh_input("save_path", str(default))
        st.text_input("Plan file on this machine", shown, key=key)
        st.form_submit_button("Save", type="primary", on_click=_save, args=(key,))
    mine, here = tab(), desk()
    st.download_button(
        "Download the plan file",
        lambda: mine.session.history.present,  # as it is when it is asked for
        now.path.name,
        "application/toml",
        key="save_download",
        on_click="ignore",
    )
    st.download_button(
        "Download the plan (plan.json)",
        lambda: _plan_json(here, mine.session),
        "plan.json",
        "application/json",
        key="plan_json",
        on_click="ignore",
    )


def _plan_json(here: PlanDesk, now: Session) -> bytes:
    """Return the plan as the command line writes it."""
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.plan import plan_document

    return json_bytes(plan_document(own_plan(here.final(now.request), now.instrument)))


@guarded
def _save(key: str) -> None:
    now = session()
    now.faults.pop("save", None)
    try:
        save_plan(now, Path(str(st.session_state[key])))
    except PlannerError as error:
        now.faults["save"] = str(error)


def _file_parts(now: Session, page: str) -> None:
    with st.form("as_file", border=False):
        text = now.history.present
        key, shown = fresh_input("file_text", text)
        st.text_area("The plan file", shown, key=key, height=380)
        st.form_submit_button("Use this text", on_click=_take_text, args=(key, text))
    show_fault("file")
    st.caption("The same from the command line" + (", once saved" if now.changed or not now.own else ""))
    for name in sorted(COMMANDS, key=lambda one: one != page):
        st.code(command_line(name, now.path, now.request.setup_path), language="sh", wrap_lines=True)


@guarded
def _take_text(key: str, shown: str) -> None:
    """Take the text that was typed, unless the plan has changed since it was shown."""
    now, typed = session(), str(st.session_state[key])
    if now.history.present != shown:
        now.faults["file"] = "the plan has changed since this text was shown; here is the present one"
    elif typed != shown:
        now.replace_text("file", typed, "The plan file was changed.")

"""The instruments that share the mosaic, one of which all pages are about."""

from __future__ import annotations

import zlib

import streamlit as st

from planner.errors import PlannerError
from planner.request.shared import SharedRequest
from planner.screen.state import guarded, session, tab

__all__ = ["instruments_part"]


def instruments_part() -> None:
    """Show who shares the mosaic; whoever is chosen is the one whose panels, nights and files the pages tell."""
    try:
        shared, one = session().shared, session().instrument
    except PlannerError:
        return  # the page says why
    if shared is None or one is None:
        return
    names = [each.name for each in shared.instruments]
    key = f"instrument_{zlib.crc32(repr((session().path, names, tab().chosen_again)).encode()):08x}"
    with st.container(horizontal=True, vertical_alignment="center", gap="small", key="instruments"):
        st.segmented_control(
            "Instrument",
            names,
            default=one.name,
            key=key,
            on_change=_choose,
            args=(key,),
            disabled=follows_finest(shared),
            label_visibility="collapsed",
            width="content",
        )
        st.caption(_words(shared, one.name), width="stretch")


def follows_finest(shared: SharedRequest) -> bool:
    """Whether the picture is to be full, so that all follow the finest instrument's."""
    picture = shared.finest.request.picture
    return picture is not None and picture.filled


def _words(shared: SharedRequest, name: str) -> str:
    """Say what is shared and whose part is told."""
    if follows_finest(shared):
        return (
            f"They share this mosaic; its full picture is that of {name}, whose part the pages tell. "
            "The command line tells the parts of all."
        )
    return f"They share this mosaic, each with panels of its own. The pages tell the part of {name}; choose another."


@guarded
def _choose(key: str) -> None:
    """Take the choice; pressing the chosen one again leaves it."""
    chosen = st.session_state[key]
    if chosen:
        session().choose(str(chosen))

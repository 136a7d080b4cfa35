"""Solved frames and the readings at which they were taken, given one after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import streamlit as st

from planner.errors import FileError, PlannerError
from planner.guide.entries import word_entries
from planner.request.request import Request
from planner.rig.angle_device import Looking, flips
from planner.session.opening import typed_path

from .state import guarded, mirror, session, show_fault, tab

__all__ = ["Given", "frames_part", "given_frames"]

BOTH = "Both an uploaded file and a path were given: the uploaded file counts. Remove it to use the path."
SUFFIXES = ["fits", "fit", "fts", "fz", "gz"]
SIDES: dict[Looking, str] = {"west": "west (after its flip)", "east": "east (before its flip)"}
WEST: Looking = "west"


@dataclass(frozen=True)
class Given:
    """What was given: frames, the reading and the side of each, and an earlier picture to match."""

    paths: tuple[Path, ...] = ()
    readings_deg: tuple[float, ...] = ()
    looking: tuple[Looking, ...] = ()
    match: Path | None = None


def given_frames() -> Given:
    """Return the frames given so far."""
    found: Given = st.session_state.setdefault("given_frames", Given())
    return found


def frames_part(request: Request) -> None:
    """Ask for solved frames, and show those given."""
    st.markdown(
        "##### A solved frame tells where the camera stands", help=word_entries("plate solution", "zero")
    )
    scale = request.angle_device is not None and request.angle_device.kind != "fixed"
    with st.form("frame", border=False):
        st.file_uploader("Plate-solved FITS frame", type=SUFFIXES, key="frame_file")
        st.text_input(
            "Or its path on this machine", key=mirror("frame_path", ""), placeholder="/data/test_0001.fits"
        )
        if scale:
            st.number_input(
                "Reading of the scale at this frame (deg)",
                value=None,
                key=mirror("frame_reading", None, "number"),
                step=1.0,
                format="%.2f",
            )
        if flips(request.mount):
            st.radio(
                "The telescope looked",
                list(SIDES),
                format_func=SIDES.get,
                key=mirror("frame_looking", next(iter(SIDES)), "radio", SIDES),
                horizontal=True,
                help="For a rectangle only the picture's up depends on it.\n\n"
                + word_entries("looking east"),
            )
        left, right = st.columns(2)
        left.form_submit_button("Calibrate with it", on_click=_add, type="primary", width="stretch")
        right.form_submit_button("Match this earlier picture", on_click=_match, width="stretch")
    if st.session_state.get("frame_both"):
        st.info(BOTH)
    show_fault("frame")
    _list_given(given_frames(), request)


def _list_given(given: Given, request: Request) -> None:
    for path, reading, side in zip(given.paths, given.readings_deg, given.looking, strict=True):
        looking = f", looking {side}" if flips(request.mount) else ""
        st.caption(f"{path.name} at reading {reading:g}°{looking}")
    if given.match:
        st.caption(f"To match: {given.match.name}")
    if given.paths or given.match:
        st.button("Forget the frames", on_click=_forget)


@guarded
def _forget() -> None:
    st.session_state["given_frames"] = Given()
    session().faults.pop("frame", None)


def _frame_path() -> Path:
    """Return where the frame stands; an upload is kept for this session, the rest is only read."""
    upload, typed = st.session_state["frame_file"], str(st.session_state["frame_path"]).strip()
    st.session_state["frame_both"] = upload is not None and bool(typed)
    if upload is not None:
        return tab().uploads.keep_one(upload.name, upload.getvalue())
    if typed:
        return typed_path(typed)
    raise FileError("no frame is given; choose a plate-solved FITS file or type its path")


def _checked_path() -> Path | None:
    from planner.frames.header.header import read_solution

    session().faults.pop("frame", None)
    try:
        path = _frame_path()
        read_solution(path)
    except PlannerError as error:
        session().faults["frame"] = tab().uploads.named(str(error))
        return None
    return path


@guarded
def _add() -> None:
    state, given, path = st.session_state, given_frames(), _checked_path()
    if path is None:
        return
    reading = state.get("frame_reading", 0.0)  # where there is no scale nobody is asked
    if reading is None:
        session().faults["frame"] = "the reading of the scale is missing; type what it shows for this frame"
        return
    readings = (*given.readings_deg, float(reading))
    looking = (*given.looking, state.get("frame_looking") or WEST)
    state["given_frames"] = Given((*given.paths, path), readings, looking, given.match)


@guarded
def _match() -> None:
    """Match another earlier picture; one that is refused does not leave the one before in force."""
    path = _checked_path()
    st.session_state["given_frames"] = replace(given_frames(), match=path)

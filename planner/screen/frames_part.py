"""Solved frames and the readings at which they were taken, given one after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import FileError, PlannerError
from planner.geometry.looking import Looking
from planner.guide.entries import word_entries
from planner.rig.mount import flips
from planner.session.opening import typed_path

from .inputs.mirror import mirror
from .state import guarded, session, show_fault, tab

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.solve.found_solution import FoundSolution
    from planner.request.request import Request

__all__ = ["Given", "frames_part", "given_frames", "read_given"]

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


def frames_part(plan: Plan) -> None:
    """Ask for solved frames, and show those given."""
    st.markdown(
        "##### A solved frame tells where the camera stands", help=word_entries("plate solution", "zero")
    )
    request = plan.request
    scale = request.angle_device is not None and request.angle_device.kind != "fixed"
    motor = request.angle_device is not None and request.angle_device.kind == "rotator"
    with st.form("frame", border=False):
        st.file_uploader("FITS frame, or its solution file", type=SUFFIXES, key="frame_file")
        st.text_input(
            "Or its path on this machine", key=mirror("frame_path", ""), placeholder="/data/test_0001.fits"
        )
        st.checkbox("Solve a frame that holds no plate solution", key=mirror("frame_solve", True))
        if scale:
            st.number_input(
                "Rotator's reading at this frame (deg)"
                if motor
                else "Reading of the scale at this frame (deg)",
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
        left.form_submit_button(
            "Calibrate with it", on_click=_add, args=(plan,), type="primary", width="stretch"
        )
        right.form_submit_button("Match this earlier picture", on_click=_match, args=(plan,), width="stretch")
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
    st.session_state.pop("found_solutions", None)
    session().faults.pop("frame", None)


def _frame_path() -> Path:
    """Return where the frame stands; an upload is kept for this session, the rest is only read."""
    upload, typed = st.session_state["frame_file"], str(st.session_state["frame_path"]).strip()
    st.session_state["frame_both"] = upload is not None and bool(typed)
    if upload is not None:
        return tab().uploads.keep_one(upload.name, upload.getvalue())
    if typed:
        return typed_path(typed)
    raise FileError("no frame is given; choose a FITS file or type its path")


def read_given(path: Path) -> FoundSolution:
    """Return the solution of a file as it was found when the file was given."""
    from planner.frames.solve.found_solution import found_solution

    found: FoundSolution | None = st.session_state.get("found_solutions", {}).get(path)
    return found or found_solution(path)


def _checked_path(plan: Plan, *, solve: bool) -> Path | None:
    """Where the frame stands, once its solution is found; what is wrong with it is told."""
    from planner.frames.solve.found_solution import found_solution

    session().faults.pop("frame", None)
    try:
        path = _frame_path()
        solved = found_solution(path, plan.solver if solve else None)
        st.session_state.setdefault("found_solutions", {})[path] = solved
    except PlannerError as error:
        session().faults["frame"] = tab().uploads.named(str(error))
        return None
    return path


@guarded
def _add(plan: Plan) -> None:
    state, given = st.session_state, given_frames()
    path = _checked_path(plan, solve=bool(state["frame_solve"]))
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
def _match(plan: Plan) -> None:
    """Match another earlier picture; one that is refused does not leave the one before in force."""
    path = _checked_path(plan, solve=False)
    st.session_state["given_frames"] = replace(given_frames(), match=path)

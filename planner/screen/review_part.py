"""Frames that came back: choose them, review them, show what they come to."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import FileError, PlannerError
from planner.guide.entries import word_entries
from planner.session.opening import typed_path
from planner.words import counted

from .frames_part import SUFFIXES
from .inputs.mirror import mirror
from .practice.practice_part import ask_for_practice, offer_again, show_what_was_put_in
from .review_tables import show_review
from .reviewed import MOST_SHOWN, Reviewed
from .sharing.of_chosen import of_chosen
from .state import in_place, session, tab
from .watching.switch import follow_switch, stop_following
from .working import working

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.limits import Limits
    from planner.frames.review.review import FrameResult
    from planner.frames.solve.solution_cards import Cards
    from planner.request.request import Request

    from .watching.follow_part import Following

__all__ = ["review_part"]

BOTH = "Both an uploaded folder and a path were given: the uploaded folder counts. Remove it to use the path."
LIMITS = (
    "Above 0. Left empty: 5 per cent of the short side, 1 degree and 2 per cent of scale, or what the plan's errors "
    "allow if that is more."
)


def review_part(plan: Plan) -> None:
    """Ask for the frames, review them when told to, and show what was found."""
    left, right = st.columns([2, 5], gap="large")
    with left:
        st.markdown("##### Frames that came back", help=word_entries("frame", "review"))
        form = st.form("review_form", border=False)
        with form:
            asked = _ask()
        follows = follow_switch()
        practice = ask_for_practice(plan)
    with right:
        with in_place():
            if practice or (asked and not follows):
                stop_following()
                _run(plan, practice or _folder)
            if follows and not practice:
                _follow(plan)
        offer_again(form)
        found: Reviewed | None = st.session_state.get("reviewed")
        if found is None:
            st.caption("Frames are only read, never changed.")
            return
        found = of_chosen(found, plan)
        if found is None:
            return
        if not found.is_of(plan):
            st.info("The plan has changed since this review: review again to compare with the present one.")
        show_review(found)
        show_what_was_put_in(found.folder)


def _ask() -> bool:
    st.text_input("Folder on this machine", key=mirror("review_folder", ""), placeholder="/data/vela")
    st.file_uploader(
        "Or upload a folder of frames, from any machine",
        accept_multiple_files="directory",
        type=SUFFIXES,
        key="review_files",
        help="Up to 64 MB a file; for large frames give the folder's path above.",
    )
    st.checkbox("Solve frames without a plate solution", key=mirror("review_solve", True))
    with st.expander("Limits of a good frame"):
        st.number_input(
            "Off the panel's centre by at most (arcmin)",
            value=None,
            min_value=0.0,
            key=mirror("review_offset", None, "number"),
        )
        st.number_input(
            "Turned by at most (deg)", value=None, min_value=0.0, key=mirror("review_angle", None, "number")
        )
        st.number_input(
            "Scale off by at most (per cent)",
            value=None,
            min_value=0.0,
            key=mirror("review_scale", None, "number"),
        )
        st.caption(LIMITS)
    return bool(st.form_submit_button("Review", type="primary"))


def _follow(plan: Plan) -> None:
    """Follow the folder that was given last."""
    from .watching.follow_part import follow_part

    typed = str(st.session_state["review_folder"]).strip()
    if st.session_state["review_files"] or not typed:
        st.info(
            "A folder on this machine can be followed: type its path and press Review. Uploads stay as they are."
        )
        return
    try:
        follow_part(plan, _following(plan, typed_path(typed)))
    except PlannerError as error:
        stop_following()
        st.error(str(error))


def _following(plan: Plan, folder: Path) -> Following:
    """What is to be followed, and how."""
    from .sharing.shared_follow import SharedFollowing
    from .watching.follow_part import Following

    solve, one = bool(st.session_state["review_solve"]), session().instrument
    if one is None:
        return Following(folder, _limits(plan), solve)
    return SharedFollowing(folder, _limits(plan), solve, name=one.name, limits_of=_limits_for)


def _run(plan: Plan, folder: Callable[[], Path]) -> None:
    """Review the folder that a call gives; one that is refused leaves no review of another in its place."""
    st.session_state.pop("reviewed", None)
    try:
        st.session_state["reviewed"] = _reviewed(plan, folder())
    except PlannerError as error:
        st.error(tab().uploads.named(str(error)))


def _folder() -> Path:
    """Return where the frames stand; uploads are kept for this session."""
    typed = str(st.session_state["review_folder"]).strip()
    uploads = st.session_state["review_files"] or []
    if uploads:
        if typed:
            st.info(BOTH)
        return tab().uploads.keep({one.name: one.getvalue() for one in uploads})
    if not typed:
        raise FileError("no frames are given; type the folder's path or choose a folder")
    return typed_path(typed)


def _limits(plan: Plan) -> Limits:
    return _limits_for(plan.request)


def _limits_for(request: Request) -> Limits:
    from planner.frames.review.limits import Limits

    state = st.session_state
    return Limits.of_plan(
        request,
        offset_arcmin=state["review_offset"],
        angle_deg=state["review_angle"],
        scale_percent=state["review_scale"],
    )


def _reviewed(plan: Plan, folder: Path) -> Reviewed:
    from planner.frames.review.reading import FrameReader
    from planner.frames.review.review import review_folder

    if session().shared is not None:
        from .sharing.shared_review_part import reviewed_of_chosen

        return reviewed_of_chosen(plan, folder, _limits_for)
    limits, solve = _limits(plan), st.session_state["review_solve"]
    solver = plan.solver() if solve else None
    frames: list[FrameResult] = []
    solved: dict[Path, Cards] = {}
    with working("Reviewing the frames") as work:
        review = review_folder(
            plan.request,
            plan.mosaic,
            folder,
            limits=limits,
            reader=FrameReader(solver, lambda path, found: solved.update({path: found.cards})),
            on_frame=lambda frame: frames.append(frame) if len(frames) < MOST_SHOWN else None,
            progress=work.tell,
        )
        work.done(f"{counted(review.frame_count, 'frame')} reviewed")
    return Reviewed(plan, folder, review, tuple(frames), limits.angle_deg, solved)

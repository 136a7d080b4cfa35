"""What fits the frame together with the chosen nebula: groups with margin, angle and a small picture, to be taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.margin_words import rounded_margin, shortage
from planner.errors import PlannerError
from planner.screen.state import guarded, session, show_fault
from planner.session.composing.around import AroundDesk, around_key, group_edits, group_svg
from planner.words import listed

if TYPE_CHECKING:
    from planner.answers.fit_around import AroundAnswer, GroupAround
    from planner.request.request import Request

__all__ = ["around_part"]

PLACE, DESK, CHANGED = "around", "around_desk", "around_changed"
LOOK_EVERY_S = 0.7
MOST_NAMES = 4
LIST_HEIGHT_PX = 330
HELP = (
    "Looks for groups of catalogue nebulae that fit one frame together with it, at any angle that the camera can "
    "have. The best group has the most area of the others times the margin that remains."
)
USE_HELP = (
    "Its nebulae become the parts of the region, and the frame stands as in the picture. "
    "Undo brings back what was."
)


def around_part(request: Request) -> None:
    """Show the press that looks for groups about the chosen nebula, and what was found."""
    region = request.region
    name = session().picked or region.object or next(iter(region.objects or ()), None)
    desk: AroundDesk | None = st.session_state.get(DESK)
    if name:
        st.button(f"What fits with {name}", key="around_look", on_click=_look, args=(name,), help=HELP)
    if desk is not None and desk.key == around_key(request):
        st.fragment(_found, run_every=LOOK_EVERY_S if desk.waits else None)(desk, request, desk.waits)
    show_fault(PLACE)


@guarded
def _look(name: str) -> None:
    now, desk = session(), st.session_state.get(DESK)
    now.faults.pop(PLACE, None)
    if desk is not None:
        desk.rest()
    st.session_state[DESK] = AroundDesk(now.request, name)


def _found(desk: AroundDesk, request: Request, waited: bool) -> None:
    """Show the groups found so far, and how far the search is."""
    if st.session_state.pop(CHANGED, False) or (waited and not desk.waits):
        st.rerun()
    groups = list(desk.found)
    with st.container(border=True, key="around"):
        left, right = st.columns([5, 2], vertical_alignment="center")
        left.markdown(f"**One frame with {desk.name}**")
        right.button(
            "Stop" if desk.waits else "Close", key="around_end", on_click=_end, args=(desk,), width="stretch"
        )
        st.caption(_words(desk, groups))
        if groups:
            with st.container(height=LIST_HEIGHT_PX if len(groups) > 2 else "content", border=False):
                for rank, group in enumerate(groups, start=1):
                    _row(rank, group, request)


def _words(desk: AroundDesk, groups: list[GroupAround]) -> str:
    if desk.waits:
        what = desk.progress[0] or "searching"
        return f"{what}; the best come first" if groups else what
    if desk.stopped:
        return "Stopped: these are the best, further ones may follow." if groups else "Stopped."
    try:
        return _whole(desk.answer)
    except PlannerError as error:
        return str(error)


def _whole(answer: AroundAnswer) -> str:
    if answer.margin_alone_arcmin < 0:
        return (
            f"Alone it does not fit the frame, which is short by {shortage(answer.margin_alone_arcmin)}′ at a side: "
            "nothing was looked for beside it."
        )
    alone = f"Alone it leaves {rounded_margin(answer.margin_alone_arcmin)}′ on all sides."
    if not answer.groups:
        return f"{alone} No nebula of 5′ or more fits the frame together with it."
    return f"{alone} Looked at: {answer.looked_at_words}."


def _row(rank: int, group: GroupAround, request: Request) -> None:
    left, right = st.columns([5, 6], vertical_alignment="center")
    left.image(group_svg(group, request.camera.field))
    names = [one.name for one in group.members[1:]]
    right.markdown(
        f"**{rank}.** {listed(names, MOST_NAMES)}  \n"
        f"margin {rounded_margin(group.margin_arcmin)}′ at {group.placement.position_angle_deg:.2f}°"
    )
    right.button(f"Use group {rank}", key=f"around_use_{rank}", on_click=_use, args=(group,), help=USE_HELP)


@guarded
def _use(group: GroupAround) -> None:
    now = session()
    now.faults.pop(PLACE, None)
    words = f"The region is now {' and '.join(one.name for one in group.members[:2])}"
    if now.edit(PLACE, group_edits(group), f"{words}, {len(group.members)} nebulae in one frame."):
        now.look_at()
    st.session_state[CHANGED] = True


@guarded
def _end(desk: AroundDesk) -> None:
    if desk.waits:
        desk.rest()
    else:
        st.session_state.pop(DESK, None)
    st.session_state[CHANGED] = True

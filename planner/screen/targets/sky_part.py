"""The sky beside the list: what fits, drawn as frames at the angle looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.answers.margin_words import rounded_margin
from planner.answers.serving import angle_text
from planner.screen.canvas.frames import mount_frames
from planner.screen.state import guarded, session
from planner.session.scene import Cap, backdrop_data

from .view import LOOK, choose

if TYPE_CHECKING:
    from .view import TargetsView

__all__ = ["sky_part"]

KEY, CAP, HELD, TAKEN = "targets_sky", "targets_cap", "targets_held", "targets_taken"
MOST_FRAMES = 600
"""More would hide the sky; the first of the list are drawn."""
HALF_SHARE, WIDEST_DEG = 2.2, 35.0
"""Half the height of the view, in short sides of the field, and at most."""


def sky_part(view: TargetsView) -> None:
    """Show frames of what fits, and of the chosen target whether it fits or not."""
    state, look = st.session_state, _look(view)
    cap = state.setdefault(CAP, Cap.about(look["ra"], look["dec"], 2 * look["half"]))
    frames = _frames(view)
    fitting = sum(map(view.fits, view.frames))
    shown = f", {MOST_FRAMES} drawn" if fitting > MOST_FRAMES else ""
    data = {
        "sid": session().id,
        "taken": state.get(TAKEN, 0),
        "cap": cap.data,
        "sky": {"key": cap.key} if state.pop(HELD, None) == cap.key else backdrop_data(cap),
        "look": look,
        "said": f"{angle_text(view.service, view.angle_deg)} · {fitting} frames{shown}",
        "frames": frames,
    }
    mount_frames(
        key=KEY, data=data, height="content", on_target_change=_target_picked, on_view_change=_view_moved
    )


def _frames(view: TargetsView) -> list[dict[str, Any]]:
    """Return the frames to draw, the chosen one last, over the others."""
    pairs = [
        (one, frame)
        for one, frame in zip(view.found.targets, view.frames, strict=True)
        if one is view.chosen or view.fits(frame)
    ]
    pairs.sort(key=lambda pair: pair[0] is not view.chosen)
    return [
        {
            "name": one.name,
            "title": f"{', '.join(one.names[:2])}: {one.kind}, margin {rounded_margin(frame.margin_arcmin)}′",
            "corners": frame.corners_deg,
            "fits": view.fits(frame),
            "chosen": one is view.chosen,
        }
        for one, frame in pairs[:MOST_FRAMES]
    ][::-1]


def _look(view: TargetsView) -> dict[str, float]:
    """Return where the chosen target stands; the view goes there when one was chosen in the table."""
    field = view.found.field
    ra_deg, dec_deg = view.chosen.center_deg if view.chosen else (0.0, 0.0)
    half = min(WIDEST_DEG, HALF_SHARE * min(field.width_deg, field.height_deg))
    return {"n": st.session_state.setdefault(LOOK, 0), "ra": ra_deg, "dec": dec_deg, "half": half}


def _sent(name: str) -> Any:
    return (st.session_state.get(KEY) or {}).get(name)


@guarded
def _target_picked() -> None:
    sent = _sent("target")
    if sent and sent["number"] > st.session_state.get(TAKEN, 0):
        st.session_state[TAKEN] = sent["number"]
        choose(str(sent["name"]), go_there=False)


@guarded
def _view_moved() -> None:
    view = _sent("view")
    if view:
        st.session_state[HELD] = view.get("sky")
        st.session_state[CAP] = Cap.about(view["ra"], view["dec"], view["reach"])

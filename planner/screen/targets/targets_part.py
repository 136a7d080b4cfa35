"""What there is to frame from this site in this season: made behind the page, then the table beside the sky."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.targets.served import angle_service
from planner.errors import PlannerError
from planner.screen.season_inputs import season_part
from planner.screen.state import kept, session
from planner.session.targets.desk import TARGETS
from planner.session.targets.rows import left_out, narrowed

from .about_part import about_part, chosen_part
from .angle_part import angle_part, looked_at, weighing
from .list_part import filters_part, list_part, row_wish
from .sky_part import sky_part
from .view import TargetsView, view_of

if TYPE_CHECKING:
    from planner.answers.serving import AngleService
    from planner.answers.targets.target import TargetList
    from planner.session.making import Making

__all__ = ["targets_part"]

LOOK_EVERY_S = 0.5


def targets_part() -> None:
    """Show the list of the plan's setup, or how far it is."""
    request = session().request
    if not request.sites:
        st.info("A list of targets needs a site: add [site] to the plan file or its setup file.")
        return
    if request.nights is None:
        st.info("Choose the first and the last evening of the season, then press Apply.")
        season_part(request)
        return
    making = TARGETS.making(request)
    if making.is_alive():
        st.fragment(_waiting, run_every=LOOK_EVERY_S)(making)
        return
    try:
        _show(making.made)
    except PlannerError as error:
        st.error(str(error))


def _waiting(making: Making[TargetList]) -> None:
    if not making.is_alive():
        st.rerun()
    what, share = making.progress
    st.progress(min(1.0, max(0.0, share)), text=f"Looking over the whole sky: {what or 'beginning'}…")


def _show(found: TargetList) -> None:
    with st.container(horizontal=True, vertical_alignment="center"):
        field, nights = found.field, found.nights
        names = " and ".join(site.name for site in found.setup.sites)
        st.markdown(
            f"What one frame of {field.width_deg:.2f}° x {field.height_deg:.2f}° holds and {names} can shoot "
            f"between {nights.first} and {nights.last}",
            width="stretch",
        )
        with st.popover("Season", width="content"):
            season_part(session().request)
    view = _view(found)
    left, right = st.columns([6, 5], gap="medium")
    with left:
        filters_part(found)
        list_part(
            view, kept("targets_left_out", (found, row_wish(found)), lambda: left_out(found, row_wish(found)))
        )
        chosen_part(view)
    with right:
        sky_part(view)
        angle_part(view)
    about_part(view)


def _view(found: TargetList) -> TargetsView:
    """Return the look that filters, slider and choice ask for; what did not change is not made again."""
    wish, (angle, reading), by = row_wish(found), looked_at(found), weighing()
    left = kept("targets_narrowed", (found, wish), lambda: narrowed(found, wish))
    service = kept(
        "targets_service",
        (left, by, angle, reading),
        lambda: _called(angle_service(replace(left, now_deg=angle), by, reading_deg=reading)),
    )
    return view_of(len(found.targets), left, service, angle)


def _called(service: AngleService) -> AngleService:
    """Let words call the slider's angle one that is looked at; a fixed camera stands at it."""
    fixed = service.device is not None and service.device.kind == "fixed"
    return service if fixed else replace(service, now_called="looked at")

"""What is known of the chosen target, its year, and what the angles serve in words and as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.margin_words import rounded_margin, shortage
from planner.answers.serving import service_words
from planner.answers.targets.served import UNITS
from planner.errors import PlannerError
from planner.screen.cautions_part import cautions_part
from planner.screen.state import guarded, kept, session, show_fault
from planner.screen.tabs import open_parts
from planner.session.targets.choosing import nights_of, target_edits
from planner.session.targets.desk import setup_of

from .angle_part import weighing

if TYPE_CHECKING:
    from planner.answers.targets.target import Target

    from .view import TargetsView

__all__ = ["about_part", "chosen_part"]

PLACE, OPENED = "targets", "targets_opened"
OPEN_HELP = (
    "It becomes the region of the plan, a group as its parts, and its title, at the camera angle looked at here, or "
    "at its best one where that cuts it. Panels that the plan lists go. Undo brings back what was."
)
MOST_NAMES = 5


def chosen_part(view: TargetsView) -> None:
    """Say what is known of the chosen target, with the press that opens it in Compose."""
    if st.session_state.pop(OPENED, False):
        st.switch_page("../pages/compose.py")
    one, frame = view.chosen, view.chosen_frame
    if one is None or frame is None:
        return
    others = [*one.parts, *one.names[1:MOST_NAMES]]
    also = f" ({', '.join(others)})" if others else ""
    cut = frame.margin_arcmin < 0
    now = f"{shortage(frame.margin_arcmin)}′ cut" if cut else f"margin {rounded_margin(frame.margin_arcmin)}′"
    st.markdown(f"**{one.name}**{also}: {now} at this angle; {_angles_words(one)}")
    st.button(
        "Open it in Compose",
        key="targets_open",
        type="primary",
        on_click=_open,
        args=(one, one.position_angle_deg if cut else view.angle_deg),
        help=OPEN_HELP,
    )
    show_fault(PLACE)


def _angles_words(one: Target) -> str:
    """Say at which angles it fits with the margin asked for, and which is best."""
    best = f"best at {one.position_angle_deg:.1f}°, margin {rounded_margin(one.margin_arcmin)}′"
    if not one.fits_at_deg:
        return f"at no angle with the margin asked for; {best}"
    if any(stop - start >= 180 for start, stop in one.fits_at_deg):
        return f"every angle does; {best}"
    arcs = " and ".join(f"{start:.1f}° to {stop % 180:.1f}°" for start, stop in one.fits_at_deg)
    return f"angles that do: {arcs}; {best}"


@guarded
def _open(one: Target, angle_deg: float) -> None:
    now = session()
    if now.edit(PLACE, target_edits(one, angle_deg), f"The region is now {one.name}."):
        now.look_at()
        st.session_state.pop("cap", None)
        st.session_state[OPENED] = True


def about_part(view: TargetsView) -> None:
    """Show what the angles serve, and the chosen target's year."""
    if view.chosen is None:
        return
    parts = {"Angles": _words, "Picture of the angles": _picture, "Year of the chosen target": _year}
    open_parts("targets_more", {name: lambda show=show: show(view) for name, show in parts.items()})  # type: ignore[misc]


def _words(view: TargetsView) -> None:
    for label, words in service_words(
        view.service, unit=UNITS[weighing()], evenings=view.found.nights.evenings
    ):
        st.markdown(f"**{label}**: {words}")
    cautions_part(session().request)


def _year(view: TargetsView) -> None:
    """Show the year picture of one frame on the target."""
    from planner.draw.pictures.year_picture import SCREEN_DPI, year_png

    request, chosen = session().request, view.chosen
    assert chosen is not None
    dark = st.context.theme.type == "dark"
    key = (setup_of(request), chosen.name, dark)
    try:
        with st.spinner("Drawing the year"):
            picture = kept(
                "targets_year", key, lambda: year_png(nights_of(request, chosen), dark=dark, dpi=SCREEN_DPI)
            )
    except PlannerError as error:
        st.error(str(error))
        return
    _image(picture, dark=dark)


def _picture(view: TargetsView) -> None:
    """Show what angles serve, and who is lost and won beside the angle looked at."""
    from planner.draw.pictures.served_angles import served_angles_png

    dark, service, nights = st.context.theme.type == "dark", view.service, view.found.nights
    title, unit = f"What angles serve, {nights.first} to {nights.last}", UNITS[weighing()] or "targets"
    with st.spinner("Drawing the angles"):
        picture = kept(
            "targets_picture",
            (service, unit, dark),
            lambda: served_angles_png(service, title=title, unit=unit, dark=dark),
        )
    _image(picture, dark=dark)
    st.download_button(
        "Download the picture", picture, "angles.png", "image/png", key="targets_png", on_click="ignore"
    )


def _image(picture: bytes, *, dark: bool) -> None:
    with st.container(key="dark_picture" if dark else "wide_picture"):
        st.image(picture)

"""The list of targets: filters that last, and the table, of which a row can be chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.answers.margin_words import rounded_margin
from planner.screen.state import guarded
from planner.session.targets.rows import ORDERS, RowWish, smallest_shown_arcmin

from .keeping import lasting, noted
from .view import TABLE, choose

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.answers.targets.target import Target, TargetList
    from planner.session.targets.frames import TargetFrame

    from .view import TargetsView

__all__ = ["filters_part", "list_part", "row_wish"]

TEXT, KINDS, SMALLEST, HOURS, GROUPS, ORDER = (
    f"targets_{name}" for name in ("text", "kinds", "smallest", "hours", "groups", "order")
)
SHOWN = "targets_shown"
"""Where the session keeps the names of the rows as they are shown."""
MOST_SHOWN = 1000
HEIGHT_PX = 430
ORDER_NAMES = {"area": "largest area", "hours": "most hours", "margin": "most margin", "name": "by name"}
NUMBERS = {
    "Now (arcmin)": (
        "%.1f",
        "Least margin at the frame's sides at the angle looked at; below 0 something is cut",
        92,
    ),
    "Hours": ("%.0f", "In the season, through the filter that has the most", 56),
    "Best at (deg)": ("%.1f", "Position angle with the largest margin", None),
    "Margin (arcmin)": ("%.1f", "At the best angle", None),
    "Highest (deg)": ("%.0f", "At the upper transit, dark or not", None),
    "Area (deg²)": ("%.2f", "That must be covered", None),
}


def row_wish(found: TargetList) -> RowWish:
    """Return what the filters say."""
    values = {key: st.session_state[lasting(key, default)] for key, default in _defaults(found).items()}
    return RowWish(
        text=str(values[TEXT]),
        kinds=tuple(values[KINDS]),
        smallest_arcmin=float(values[SMALLEST] or 0.0),
        least_hours=float(values[HOURS] or 0.0),
        groups=bool(values[GROUPS]),
        order=values[ORDER] or ORDERS[0],
    )


def _defaults(found: TargetList) -> dict[str, Any]:
    smallest = smallest_shown_arcmin(found.field)
    return {TEXT: "", KINDS: [], SMALLEST: smallest, HOURS: 1.0, GROUPS: False, ORDER: ORDERS[0]}


def filters_part(found: TargetList) -> None:
    """Show the filters: a name and the order at once, the rest in a menu."""
    kinds = sorted({one.kind for one in found.targets if not one.is_group})
    st.session_state[KINDS] = [one for one in st.session_state[KINDS] if one in kinds]
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.text_input("Name", key=TEXT, placeholder="Sh2, Veil, LDN 12")
        st.selectbox("First", ORDERS, format_func=ORDER_NAMES.__getitem__, key=ORDER)
        with st.popover("Filters", width="content"):
            st.multiselect("Kinds", kinds, key=KINDS, placeholder="All")
            st.number_input("Smallest size (arcmin)", 0.0, 7200.0, step=5.0, key=SMALLEST)
            st.number_input("Least hours in the season", 0.0, 9000.0, step=1.0, key=HOURS)
            st.checkbox("Groups of nebulae", key=GROUPS)
    noted(*_defaults(found))


def list_part(view: TargetsView, left_out: Sequence[tuple[int, str]]) -> None:
    """Show the table; a press on a row chooses it, and the sky goes there.

    Parameters
    ----------
    view : TargetsView
    left_out : sequence of (int, str)
        How many targets the filters leave out, and why.
    """
    targets = view.found.targets[:MOST_SHOWN]
    if not targets:
        what = f"None of the {view.whole} targets is left; widen the filters."
        st.info(what if view.whole else "Nothing fits this field in this season.")
        return
    rows = [_row(one, frame, view) for one, frame in zip(targets, view.frames, strict=False)]
    st.session_state[SHOWN] = [one.name for one in targets]
    key = f"{TABLE}_{st.session_state.get(TABLE, 0)}"
    st.dataframe(
        rows,
        key=key,
        hide_index=True,
        height=HEIGHT_PX,
        on_select=lambda: _row_picked(key),
        selection_mode="single-row",
        column_config={
            "Fits": st.column_config.CheckboxColumn(
                width=48, help="At the angle looked at, with the margin asked for"
            ),
            "Target": st.column_config.TextColumn(width=126),
            **{
                name: st.column_config.NumberColumn(format=layout, help=about, width=width)
                for name, (layout, about, width) in NUMBERS.items()
            },
        },
    )
    more = f"; the first {MOST_SHOWN} are shown" if len(view.found.targets) > MOST_SHOWN else ""
    st.caption(
        f"{len(view.found.targets):,} of {view.whole:,} targets{more}. A press on the box left of a row chooses it.",
        help=_whole_words(view, left_out),
    )


def _whole_words(view: TargetsView, left_out: Sequence[tuple[int, str]]) -> str:
    """Say what all targets are, and what became of those that are not shown."""
    whole = (
        f"All {view.whole:,}: what one frame holds of the {view.found.cuts.known:,} nebulae that have a size, and "
        "groups of these, as far as it stands in the dark of this season."
    )
    if not left_out:
        return whole
    counts = "; then ".join(f"{count:,} {words}" for count, words in left_out)
    return f"{whole}\n\nThe filters leave out {counts}."


def _row(one: Target, frame: TargetFrame, view: TargetsView) -> dict[str, Any]:
    values = (
        float(rounded_margin(frame.margin_arcmin)),
        one.most_hours,
        one.position_angle_deg,
        float(rounded_margin(one.margin_arcmin)),
        one.greatest_altitude_deg,
        one.area_deg2,
    )
    return {
        "Target": one.name if one.is_group else ", ".join(one.names[:2]),
        "Fits": view.fits(frame),
        **dict(zip(NUMBERS, values, strict=True)),
        "Kind": one.kind,
    }


@guarded
def _row_picked(key: str) -> None:
    rows = st.session_state[key]["selection"]["rows"]
    shown = st.session_state.get(SHOWN, [])
    if rows and rows[0] < len(shown):
        choose(shown[rows[0]], go_there=True)

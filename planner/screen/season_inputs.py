"""Inputs of the page Nights: dates, darkness, losses, and the filters."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import asdict
from typing import Any

import streamlit as st

from planner.night.moon_rule import DEFAULT_RULES
from planner.request.request import Request

from .inputs.form import Input, plan_form
from .state import session, show_fault

__all__ = ["filters_part", "season_part"]

BANDS = ["narrow", "broad"]
MOON_WORDS = (
    "By band, where neither Moon limit is given (common practice, no source): "
    + "; ".join(
        f"{band} {rule.separation_deg:g} degrees from the Moon"
        + (f", which is lit to {rule.illumination:g} at most" if rule.illumination < 1 else "")
        for band, rule in DEFAULT_RULES.items()
    )
    + ". Width of a narrow band: 7 nm."
)


def season_part(request: Request) -> None:
    """Ask for the season; say which sites it is for."""
    st.markdown("##### Season")
    for site in request.sites:
        st.caption(
            f"{site.name}: latitude {site.latitude_deg:+.3f}, longitude {site.longitude_deg:+.3f}, "
            f"from {site.lowest_altitude_deg:g} degrees up, times in {site.time_zone}"
        )
    nights = request.nights
    rows = [
        [
            Input("nights.first", "First evening", nights.first if nights else None, "date"),
            Input("nights.last", "Last evening", nights.last if nights else None, "date"),
        ]
    ]
    if nights is not None:
        rows += [
            [
                Input(
                    "nights.darkness",
                    "Dark after this twilight",
                    nights.darkness,
                    "choice",
                    options=["civil", "nautical", "astronomical"],
                    default="astronomical",
                ),
                Input(
                    "nights.clear_fraction",
                    "Clear part of the time (0.01 to 1)",
                    nights.clear_fraction,
                    default=1.0,
                ),
            ],
            [
                Input(
                    "nights.overhead_per_panel_min",
                    "Time lost per panel (min)",
                    nights.overhead_per_panel_min,
                    decimals=1,
                    default=0.0,
                ),
                Input(
                    "nights.overhead_per_exposure_s",
                    "Time lost per exposure (s)",
                    nights.overhead_per_exposure_s,
                    decimals=1,
                    default=0.0,
                ),
            ],
        ]
    plan_form("season", rows)


def _filters_part() -> None:
    """Ask for the filters as a table; what is typed into it stays on other pages too, until it is applied."""
    request = session().request
    st.markdown("##### Filters")
    rows = st.data_editor(
        _begun_with(request),
        num_rows="dynamic",
        hide_index=True,
        placeholder="by band",
        key=_key(request),
        column_config={
            "name": st.column_config.TextColumn("Name", required=True),
            "band": st.column_config.SelectboxColumn("Band", width=72, options=BANDS, required=True),
            "exposure_s": st.column_config.NumberColumn("Exposure (s)", width=104, required=True),
            "exposures": st.column_config.NumberColumn(
                "Exposures", width=92, help="For each panel", required=True, step=1
            ),
            "moon_separation_deg": st.column_config.NumberColumn(
                "From Moon (°)",
                width=116,
                help="At least so far from the Moon, 0 to 180 degrees; empty: the band's own",
            ),
            "moon_illumination": st.column_config.NumberColumn(
                "Moon lit", width=80, help="At most so much of the Moon lit, 0 to 1; empty: the band's own"
            ),
            "width_nm": st.column_config.NumberColumn(
                "Width (nm)", width=94, help="Of a narrow band, for hours at a dark sky; empty: 7"
            ),
        },
    )
    st.caption(MOON_WORDS)
    st.session_state["filters_rows"] = request.filters, rows
    if st.button("Apply", key="filters_apply") and session().edit(
        "filters", {"filters": _tables(rows) or None}
    ):
        st.rerun()
    show_fault("filters")


filters_part = st.fragment(_filters_part)


def _key(request: Request) -> str:
    return f"filters_{hash(request.filters)}"


def _begun_with(request: Request) -> list[dict[str, Any]]:
    """Return the rows that the table begins with: while it is shown it keeps what changes to itself."""
    state = st.session_state
    if _key(request) not in state or "filters_base" not in state:
        present = [asdict(one) for one in request.filters] or [_first_filter()]
        filters, rows = state.get("filters_rows", (None, None))
        state["filters_base"] = rows if filters == request.filters else present
    base: list[dict[str, Any]] = state["filters_base"]
    return base


def _first_filter() -> dict[str, Any]:
    return {
        "name": "L",
        "band": "broad",
        "exposure_s": 180.0,
        "exposures": 40,
        "moon_separation_deg": None,
        "moon_illumination": None,
        "width_nm": None,
    }


def _tables(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Tables of the plan file: whole numbers as such, empty cells left out."""
    return [
        {name: _plain(name, value) for name, value in row.items() if not _is_empty(value)} for row in rows
    ]


def _is_empty(value: Any) -> bool:
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))


def _plain(name: str, value: Any) -> Any:
    if isinstance(value, dt.date) or not isinstance(value, float):
        return value
    return int(value) if name == "exposures" and value.is_integer() else value

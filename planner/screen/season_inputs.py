"""Inputs of the page Nights: dates, darkness, losses, and the filters."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict
from typing import Any

import streamlit as st

from planner.request.request import Request

from .inputs import Input, plan_form
from .state import session, show_fault

__all__ = ["filters_part", "season_part"]

BANDS = ["narrow", "broad"]


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
                    "Darkness",
                    nights.darkness,
                    "choice",
                    options=["civil", "nautical", "astronomical"],
                    default="astronomical",
                ),
                Input("nights.clear_fraction", "Clear share of the time", nights.clear_fraction, default=1.0),
            ],
            [
                Input(
                    "nights.overhead_per_panel_min",
                    "Lost per panel (min)",
                    nights.overhead_per_panel_min,
                    decimals=1,
                    default=0.0,
                ),
                Input(
                    "nights.overhead_per_exposure_s",
                    "Lost per exposure (s)",
                    nights.overhead_per_exposure_s,
                    decimals=1,
                    default=0.0,
                ),
            ],
        ]
    plan_form("season", rows)


def filters_part(request: Request) -> None:
    """Ask for the filters as a table."""
    st.markdown("##### Filters")
    present = [asdict(one) for one in request.filters] or [_first_filter()]
    with st.form("filters", border=False):
        rows = st.data_editor(
            present,
            num_rows="dynamic",
            hide_index=True,
            key=f"filters_{hash(request.filters)}",
            column_config={
                "name": st.column_config.TextColumn("Name", required=True),
                "band": st.column_config.SelectboxColumn("Band", options=BANDS, required=True),
                "exposure_s": st.column_config.NumberColumn("Seconds", required=True),
                "exposures": st.column_config.NumberColumn("Count", help="Per panel", required=True, step=1),
                "moon_separation_deg": st.column_config.NumberColumn("From the Moon (deg)"),
                "moon_illumination": st.column_config.NumberColumn("Moon at most"),
            },
        )
        if st.form_submit_button("Apply") and session().edit("filters", {"filters": _tables(rows)}):
            st.rerun()
    show_fault("filters")


def _first_filter() -> dict[str, Any]:
    return {
        "name": "L",
        "band": "broad",
        "exposure_s": 180.0,
        "exposures": 40,
        "moon_separation_deg": None,
        "moon_illumination": None,
    }


def _tables(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Tables of the plan file: whole numbers as such, empty cells left out."""
    return [{name: _plain(name, value) for name, value in row.items() if value is not None} for row in rows]


def _plain(name: str, value: Any) -> Any:
    if isinstance(value, dt.date) or not isinstance(value, float):
        return value
    return int(value) if name == "exposures" and value.is_integer() else value

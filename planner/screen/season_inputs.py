"""Inputs of the page Nights: dates, darkness, losses, and the filters."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.night.moon_rule import DEFAULT_RULES
from planner.request.request import Request

from .inputs.form import Input, plan_form, submit
from .state import session, show_fault

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

    from planner.night.settings import Nights

__all__ = ["apply_filters", "apply_season", "filters_part", "season_part"]

SEASON = "season"
"""Name of the form."""
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


def season_part(request: Request) -> DeltaGenerator:
    """Ask for the season; say which sites it is for. Returns the form, for a further button."""
    st.markdown("##### Season")
    for site in request.sites:
        st.caption(
            f"{site.name}: latitude {site.latitude_deg:+.3f}, longitude {site.longitude_deg:+.3f}, "
            f"from {site.lowest_altitude_deg:g} degrees up, times in {site.time_zone}"
        )
    return plan_form(SEASON, _season_rows(request.nights))


def apply_season(request: Request) -> bool:
    """Take over what is typed into the season; returns whether nothing of it was refused."""
    return submit(SEASON, _season_rows(request.nights))


def _season_rows(nights: Nights | None) -> list[list[Input]]:
    dates = [
        Input("nights.first", "First evening", nights.first if nights else None, "date"),
        Input("nights.last", "Last evening", nights.last if nights else None, "date"),
    ]
    return [dates] if nights is None else [dates, _light_row(nights), _loss_row(nights)]


def _light_row(nights: Nights) -> list[Input]:
    twilights = ["civil", "nautical", "astronomical"]
    dark = "Dark after this twilight"
    return [
        Input("nights.darkness", dark, nights.darkness, "choice", options=twilights, default="astronomical"),
        Input(
            "nights.clear_fraction", "Clear part of the time (0.01 to 1)", nights.clear_fraction, default=1.0
        ),
    ]


def _loss_row(nights: Nights) -> list[Input]:
    panel_min, exposure_s = nights.overhead_per_panel_min, nights.overhead_per_exposure_s
    each, shot = "Time lost per panel (min)", "Time lost per exposure (s)"
    return [
        Input("nights.overhead_per_panel_min", each, panel_min, decimals=1, default=0.0),
        Input("nights.overhead_per_exposure_s", shot, exposure_s, decimals=1, default=0.0),
    ]


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
    if st.button("Apply", key="filters_apply") and _take(rows):
        st.rerun()
    show_fault("filters")


filters_part = st.fragment(_filters_part)


def _take(rows: list[dict[str, Any]]) -> bool:
    return session().edit("filters", {"filters": _tables(rows) or None})


def apply_filters() -> bool:
    """Take over what is typed into the table of filters; returns whether it was not refused."""
    request, (filters, rows) = session().request, st.session_state.get("filters_rows", (None, None))
    if filters != request.filters or rows is None or _tables(rows) == _tables(_present(request)):
        return True
    return _take(rows)


def _present(request: Request) -> list[dict[str, Any]]:
    """The rows of the plan; where there are none, one to begin with."""
    return [asdict(one) for one in request.filters] or [_first_filter()]


def _key(request: Request) -> str:
    return f"filters_{hash(request.filters)}"


def _begun_with(request: Request) -> list[dict[str, Any]]:
    """Return the rows that the table begins with: while it is shown it keeps what changes to itself."""
    state = st.session_state
    if _key(request) not in state or "filters_base" not in state:
        filters, rows = state.get("filters_rows", (None, None))
        state["filters_base"] = rows if filters == request.filters else _present(request)
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

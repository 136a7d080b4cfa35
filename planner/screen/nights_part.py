"""The nights of the plan: the year as a drawing, every evening, the timetable, its cost and its sheets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import streamlit as st

from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.words import plain_markdown

from .cautions_part import cautions_part
from .inputs.mirror import mirror, take_over
from .season_inputs import apply_filters, apply_season
from .state import download, guarded, in_place, kept, session, tab
from .table_view import heading, plain_rows, show_table
from .tabs import open_parts
from .working import working

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

    from planner.answers.nights import NightsPlan
    from planner.answers.plan import Plan
    from planner.night.timetable import Goal

__all__ = ["arranged_nights", "chosen_goal", "goal_words", "nights_part"]

EVENING_PX = {"Evening": 88, "Panels": 58, "Longest": 64, "Hours": 56, "Dark": 102}
SEPARATION_DECIMALS = 1
WORK_PX = {"Evening": 88, "From": 52, "To": 52, "Panel": 50, "Filter": 52, "Exposures": 74}
"""Columns that matter."""
EVENING_WORDS = (
    "Panels: how many can be shot, the Moon considered. Longest, hours: the one that can be shot longest through one "
    "filter, and how long."
)
WANTED = "nights_wanted"
"""Key of the choice, and where the session keeps that a timetable is to be made."""
GOALS: dict[Goal, str] = {"soonest": "as soon as possible", "cheapest": "as cheap as possible"}


def nights_part(plan: Plan, finish: DeltaGenerator, season: DeltaGenerator) -> None:
    """Arrange the nights when told to, and show them.

    Parameters
    ----------
    plan : Plan
    finish : DeltaGenerator
        Where the goal is chosen.
    season : DeltaGenerator
        The form of the season: the press that arranges stands in it, and brings what is typed there.
    """
    from planner.answers.nights import check_nights

    if plan.request.sites and plan.request.nights is None:
        st.info("Choose the first and the last evening under Season, then press Apply.")
        return
    try:
        check_nights(plan.request, len(plan.mosaic.panels))
    except PlannerError as error:
        st.info(str(error))
        return
    with finish:
        goal = _ask_for_goal()
    season.form_submit_button("Arrange the nights", type="primary", key="nights_make", on_click=_arrange)
    if st.session_state.pop(WANTED, False):
        _ask_to_arrange(plan, goal)
    slot = st.empty()  # one picture at a time: what comes next takes the place of what was shown
    if st.session_state.get("nights_asked") != (plan.request, goal):
        with slot.container():
            _first_look(plan)
        return
    try:
        with slot.container():
            nights = kept("nights", (plan, goal), lambda: arranged_nights(plan, goal))
    except PlannerError as error:
        st.error(str(error))
        return
    with slot.container():
        _show(nights, kept("nights_document", nights, lambda: _document(nights)))


@guarded
def _arrange() -> None:
    """Take over what is typed into the season; the nights are arranged where nothing of it is refused."""
    st.session_state[WANTED] = apply_season(session().request)


def _ask_to_arrange(plan: Plan, goal: Goal) -> None:
    """Take over the table of filters as well; then arrange the nights of the plan as it is."""
    before = session().history.present
    taken = apply_filters()
    st.session_state[WANTED] = taken and session().history.present != before
    if st.session_state[WANTED] or not taken:
        st.rerun()  # the plan with these filters, or why they are refused
    st.session_state["nights_asked"] = (plan.request, goal)


def _ask_for_goal() -> Goal:
    chosen: Goal | None = st.segmented_control(
        "Finish", list(GOALS), required=True, format_func=GOALS.get, key=mirror("nights_goal", tab().goal)
    )
    tab().goal = chosen or tab().goal
    take_over("nights_goal", tab().goal)
    return tab().goal


def chosen_goal() -> Goal:
    """Return the goal that was chosen on the page Nights: every page's timetable has it."""
    return tab().goal


def goal_words(goal: Goal, whose: str) -> str:
    """Say which goal a timetable has, and where it is chosen.

    >>> goal_words("cheapest", "The calendar's timetable")
    "The calendar's timetable finishes as cheap as possible: the choice stands on the page Nights."
    """
    return f"{whose} finishes {GOALS[goal]}: the choice stands on the page Nights."


def _first_look(plan: Plan) -> None:
    """Show the year before anything is arranged: darkness, Moon, when the panels can be shot."""
    from planner.answers.panel_facts import still_to_do

    plan = still_to_do(plan)
    request = plan.request
    what = (plan.mosaic.panels, request.sites, request.nights, request.mount)
    try:
        _picture("first_look", what, lambda: _unarranged(plan))
    except PlannerError as error:
        st.error(str(error))
        return
    st.caption(
        "When it is dark, when the Moon is up, and when each panel can be shot. Arranging gives a timetable, "
        "which is kept while this browser tab is open and the planner runs."
    )


def _unarranged(plan: Plan) -> NightsPlan:
    """Return the nights without a timetable."""
    from planner.answers.nights import plan_nights

    bare = replace(plan.request, filters=(), panels=(), settled=None)
    return plan_nights(replace(plan, request=bare))


def arranged_nights(plan: Plan, goal: Goal) -> NightsPlan:
    """Arrange the nights, and show how far it is."""
    from planner.answers.nights import plan_nights

    with working("Arranging the nights") as work:
        nights = plan_nights(plan, goal=goal, progress=work.tell)
        work.done("The nights are arranged")
    return nights


def _document(nights: NightsPlan) -> dict[str, Any]:
    from planner.files.documents.nights import nights_document

    return nights_document(nights)


def _show(nights: NightsPlan, document: dict[str, Any]) -> None:
    from planner.answers.nights import shortfalls

    with in_place():
        _headline(document)
        for sentence in shortfalls(nights):
            st.warning(sentence)
    _picture("year", nights, lambda: nights)
    zones = {site.name: ZoneInfo(site.time_zone) for site in nights.survey.sites}
    open_parts(
        "nights_tabs",
        {
            "Evenings": lambda: _evenings(document, zones),
            "Timetable": lambda: _timetable(nights, document, zones),
            "Missing and warnings": lambda: _missing(document),
        },
    )
    _downloads(nights)
    cautions_part(nights.plan.request, turns=nights.timetable is not None, follows=True)


def _evenings(document: dict[str, Any], zones: dict[str, ZoneInfo]) -> None:
    rows = _evening_rows(document, zones)
    show_table(rows, empty="The season has no evening.", decimals={"Hours": 1}, first_px=EVENING_PX)
    st.caption(EVENING_WORDS)


def _missing(document: dict[str, Any]) -> None:
    if "timetable" in document:
        missing = plain_rows(document.get("missing", []))
        show_table(missing, empty="Nothing is missing: every panel gets its exposures.")
    else:
        st.caption("What is missing is told once there is a timetable: it needs filters.")
    show_table(
        plain_rows(document.get("warnings", [])),
        empty="No warnings.",
        decimals={heading("separation_deg"): SEPARATION_DECIMALS},
    )


def _headline(document: dict[str, Any]) -> None:
    if "hours_used" not in document:
        st.caption("The plan has no filters: when panels can be shot, but no timetable.")
        return
    last = document.get("evening_of_last")
    words = f"Finished on the evening of {last}" if document["finished"] else "Not finished"
    costs = document.get("costs") or {document.get("currency", ""): document.get("cost")}
    money = ", ".join(f"{value:,.0f} {name}".strip() for name, value in costs.items() if value)
    st.markdown(f"### {words}", help=word_entries("block", "window", "transit"))
    st.markdown(f"{document['hours_used']:.1f} hours" + (f", {money}" if money else ""))


def _clock(text: str, zone: ZoneInfo) -> str:
    return dt.datetime.fromisoformat(text).astimezone(zone).strftime("%H:%M")


def _zone(row: dict[str, Any], zones: dict[str, ZoneInfo]) -> ZoneInfo:
    """Return the zone of an entry's site; entries name none where there is one only."""
    return zones[row["site"]] if "site" in row else next(iter(zones.values()))


def _evening_rows(document: dict[str, Any], zones: dict[str, ZoneInfo]) -> list[dict[str, Any]]:
    rows = []
    for night in document["nights"]:
        zone = _zone(night, zones)
        hours = {name: _shootable_hours(panel) for name, panel in night["panels"].items()}
        best = max(hours, key=lambda name: hours[name], default="")
        longest = hours.get(best, 0.0)
        dark = [_clock(night[name], zone) for name in ("dark_from", "dark_to") if name in night]
        rows.append(
            {
                "Evening": night["evening"],
                **({"Site": night["site"]} if "site" in night else {}),
                "Dark": " to ".join(dark) or "never",
                "Moon lit": f"{night['moon_illumination']:.0%}",
                "Moon up": ", ".join(f"{_clock(a, zone)} to {_clock(b, zone)}" for a, b in night["moon_up"]),
                "Panels": sum(one > 0 for one in hours.values()),
                "Longest": best if longest > 0 else "",
                "Hours": round(longest, 1),
            }
        )
    return rows


def _shootable_hours(panel: dict[str, Any]) -> float:
    """Hours through the filter that takes a panel longest; without filters, in the dark."""
    return float(max(panel.get("filter_hours", {"": panel["hours"]}).values()))


def _timetable(nights: NightsPlan, document: dict[str, Any], zones: dict[str, ZoneInfo]) -> None:
    if nights.timetable is None:
        st.caption("A timetable needs filters, the plan has none. Type them in under Filters.")
    elif not document["timetable"]:
        st.caption("Nothing can be shot in this season: see Evenings for the hours.")
    else:
        show_table(_work_rows(nights, document, zones), empty="", first_px=WORK_PX)
        _flats_at_the_end(nights)


def _flats_at_the_end(nights: NightsPlan) -> None:
    """Say which flats the last camera angle needs; those before a turn stand in the table."""
    from planner.answers.night_steps import NO_TIME_FOR, night_steps

    sites = nights.survey.evenings
    last = {sites[one.block.night].evening.site: one.after for one in night_steps(nights) if one.after}
    for site, flats in last.items():
        where = f"{nights.survey.sites[site].name}: a" if len(last) > 1 else "A"
        st.caption(f"{where}fter the last block, before anybody turns the camera: {plain_markdown(flats)}.")
    if last:
        st.caption(f"{NO_TIME_FOR}.")


def _work_rows(
    nights: NightsPlan, document: dict[str, Any], zones: dict[str, ZoneInfo]
) -> list[dict[str, Any]]:
    from planner.answers.night_steps import night_steps

    return [
        {
            "Evening": row["evening"],
            **({"Site": row["site"]} if "site" in row else {}),
            "From": _clock(row["from"], _zone(row, zones)),
            "To": _clock(row["to"], _zone(row, zones)),
            "Panel": row["panel"],
            "Filter": row["filter"],
            "Exposures": row["exposures"],
            **({"Looking": row["looking"]} if "looking" in row else {}),
            "First": "; ".join(steps.first),
        }
        for row, steps in zip(document["timetable"], night_steps(nights), strict=True)
    ]


def _picture(name: str, key: object, nights: Callable[[], NightsPlan]) -> None:
    """Show the year in the page's light; on a narrow screen it scrolls, so that its labels can be read."""
    from planner.draw.pictures.year_picture import SCREEN_DPI, year_png

    dark = st.context.theme.type == "dark"
    picture = kept(name, (key, dark), lambda: year_png(nights(), dark=dark, dpi=SCREEN_DPI))
    with st.container(key="dark_picture" if dark else "wide_picture"):
        st.image(picture)


def _downloads(nights: NightsPlan) -> None:
    from planner.draw.paper.night_sheet import night_sheets_pdf
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.nights import nights_document
    from planner.files.exchange.calendar import calendar_bytes

    document = "nights.json", "application/json"
    with st.container(horizontal=True):
        if nights.timetable is not None:
            download("Night sheets (PDF)", lambda: night_sheets_pdf(nights), "nights.pdf", "application/pdf")
            download("Calendar (iCalendar)", lambda: calendar_bytes(nights), "nights.ics", "text/calendar")
        download("For programs (nights.json)", lambda: json_bytes(nights_document(nights)), *document)

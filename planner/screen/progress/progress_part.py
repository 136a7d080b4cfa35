"""Where a mosaic stands by a review: what is done as a picture and a table, what to shoot next, until when."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.screen.cautions_part import cautions_part
from planner.screen.nights_part import chosen_goal, goal_words
from planner.screen.reviewed import Reviewed, counted_columns
from planner.screen.state import download, kept
from planner.screen.table_view import show_table
from planner.screen.working import working
from planner.words import plain_markdown

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress
    from planner.night.timetable import Goal

__all__ = ["progress_part"]

ROW_PX = {"Panel": 56, "Filter": 54, "Done": 58, "Good (h)": 74, "Wanted (h)": 88}
WORK_PX = {"Time": 116, "Panel": 56, "Filter": 54, "Exposures": 78}
"""Columns that matter."""
DECIMALS = {"Good (h)": 2, "Wanted (h)": 2, "At a dark sky (h)": 2}


def progress_part(found: Reviewed) -> None:
    """Show where the mosaic of a review stands, as of today's clock."""
    now = dt.datetime.now(dt.UTC)
    sites = found.plan.request.sites
    today = now.astimezone(sites[0].zone).date() if sites else now.date()
    goal = chosen_goal()
    try:
        standing = kept("standing", (found.review, today, goal), lambda: _standing(found, now, goal))
    except PlannerError as error:
        st.error(str(error))
        return
    from planner.draw.paper.progress_sheet import progress_png

    _facts(standing)
    if standing.has_nights and not standing.finished:
        st.caption(goal_words(goal, "What is left"))
    _tonight(standing)
    show_table(_rows(standing), empty="The plan has no panel.", decimals=DECIMALS, first_px=ROW_PX)
    picture, _ = st.columns([3, 1])
    picture.image(kept("progress_png", standing, lambda: progress_png(standing)))
    _downloads(standing)


def _standing(found: Reviewed, now: dt.datetime, goal: Goal) -> MosaicProgress:
    from planner.answers.progress import check_progress, progress_of

    check_progress(found.plan)
    with working("Working out where the mosaic stands") as work:
        standing = progress_of(found.plan, found.review, now=now, goal=goal, progress=work.tell)
        work.done("Worked out from the review and the nights")
    return standing


def _facts(standing: MosaicProgress) -> None:
    from planner.answers.progress.words import facts, shortfall

    st.markdown(
        f"##### {shortfall(standing) or 'All is done'}", help=word_entries("coming evening", "clear share")
    )
    st.markdown("\n".join(f"- **{label}**: {plain_markdown(text)}" for label, text in facts(standing)))


def _tonight(standing: MosaicProgress) -> None:
    from planner.answers.progress.words import no_time_words, no_work_words, tonight_words

    idle = no_work_words(standing)
    if idle:
        st.info(idle)
    if not standing.tonight:
        return
    st.markdown(f"##### {tonight_words(standing)}")
    show_table(_work_rows(standing), empty="", first_px=WORK_PX, wraps_px={"First": 310, "Why": 330})
    if words := no_time_words(standing):
        st.caption(words)
    cautions_part(standing.plan.request, follows=True)


def _work_rows(standing: MosaicProgress) -> list[dict[str, Any]]:
    from planner.answers.progress.words import clock_text

    sites = standing.plan.request.sites
    return [
        {
            "Time": clock_text(standing, one),
            **({"Site": sites[one.site].name} if len(sites) > 1 else {}),
            "Panel": one.panel,
            **({"Filter": one.filter, "Exposures": one.exposures} if one.filter else {}),
            "First": "; ".join(one.first),
            "Why": one.reason,
        }
        for one in standing.tonight
    ]


def _rows(standing: MosaicProgress) -> list[dict[str, Any]]:
    from planner.answers.progress.words import per_cent

    return [
        {
            **counted_columns(row),
            "Good (h)": row.seconds / 3600,
            "Wanted (h)": None if row.wanted_seconds is None else row.wanted_seconds / 3600,
            "Done": "" if row.share is None else per_cent(row.share),
            **({} if row.dark_sky_seconds is None else {"At a dark sky (h)": row.dark_sky_seconds / 3600}),
            **({"Nights left": row.nights_left} if standing.has_nights else {}),
        }
        for row in standing.rows
    ]


def _downloads(standing: MosaicProgress) -> None:
    from planner.draw.paper.progress_sheet import progress_pdf, progress_png
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.progress import progress_document

    document = "progress.json", "application/json"
    with st.container(horizontal=True):
        download("For the wall (PDF)", lambda: progress_pdf(standing), "progress.pdf", "application/pdf")
        download("For the wall (PNG)", lambda: progress_png(standing), "progress.png", "image/png")
        download("For programs (progress.json)", lambda: json_bytes(progress_document(standing)), *document)

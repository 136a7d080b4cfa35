"""Where a mosaic stands, on screen (the table, what to know, the work of the coming evening) and in files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.answers.progress.words import (
    clock_text,
    facts,
    no_time_words,
    no_work_words,
    per_cent,
    tonight_words,
)
from planner.cli._show import print_fact, print_facts, print_left_out, print_line, print_table
from planner.frames.review.tally import exposures_words, frames_words
from planner.rig.cautions import MADE_UP_CAUTION, cautions_for

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress, PanelProgress

__all__ = ["print_progress", "progress_files"]

MOST_ROWS = 200
"""Rows of the table on screen; files hold all."""


def print_progress(standing: MosaicProgress) -> None:
    """Print where a mosaic stands on standard output."""
    _print_rows(standing)
    print_line()
    print_facts(facts(standing))
    _print_tonight(standing)
    if standing.tonight:
        print_line()
        request = standing.plan.request
        cautions = cautions_for(request.angle_device, request.mount, turns=True, follows=True)
        made_up = [MADE_UP_CAUTION] if standing.review.made_up_words else []
        print_facts(("Caution", text) for text in (*made_up, *cautions))


def _print_rows(standing: MosaicProgress) -> None:
    shown = standing.rows[:MOST_ROWS]
    dark = any(one.dark_sky_seconds is not None for one in standing.rows)
    columns = [
        *("Panel", "Filter", ">Good exposures", ">Good frames", ">Hours", ">Done"),
        *([">At a dark sky"] if dark else []),
        *([">Nights left"] if standing.has_nights else []),
    ]
    rows = [
        [
            *_row(one),
            *([_hours(one.dark_sky_seconds)] if dark else []),
            *(["-" if one.nights_left is None else f"{one.nights_left}"] if standing.has_nights else []),
        ]
        for one in shown
    ]
    print_table(columns, rows, keys=2, title=f"{standing.plan.request.title}: where it stands")
    print_left_out(len(standing.rows) - len(shown))


def _hours(seconds: float | None) -> str:
    return "-" if seconds is None else f"{seconds / 3600:.2f}"


def _row(one: PanelProgress) -> list[str]:
    hours = _hours(one.seconds)
    if one.wanted is None or one.wanted_seconds is None or one.share is None:
        return [one.name, one.filter or "-", "-", frames_words(one.exposures, one.stacks), hours, "-"]
    return [
        one.name,
        one.filter or "-",
        exposures_words(one.worth, one.wanted),
        frames_words(one.exposures, one.stacks),
        f"{hours} of {_hours(one.wanted_seconds)}",
        per_cent(one.share),
    ]


def _print_tonight(standing: MosaicProgress) -> None:
    idle = no_work_words(standing)
    if idle:
        print_fact("Tonight", idle)
    if not standing.tonight:
        return
    print_line()
    print_line(tonight_words(standing))
    several = len(standing.plan.request.sites) > 1
    for number, one in enumerate(standing.tonight, start=1):
        site = f" at {standing.plan.request.sites[one.site].name}" if several else ""
        what = " ".join(text for text in (one.panel, one.filter) if text)
        count = "" if one.exposures is None else f" x {one.exposures}"
        for words in one.first:
            print_fact("", words, width=5)
        when = f"{clock_text(standing, one)}{site}"
        print_fact(f"{number:>3}", f"{when}  {what}{count}: {one.reason}", width=5)
    if unheld := no_time_words(standing):
        print_line(unheld)


def progress_files(standing: MosaicProgress) -> dict[str, bytes]:
    """Every file, by name; nothing is written before all are there."""
    from planner.draw.paper.progress_sheet import progress_pdf, progress_png
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.progress import progress_document

    return {
        "progress.json": json_bytes(progress_document(standing)),
        "progress.png": progress_png(standing),
        "progress.pdf": progress_pdf(standing),
    }

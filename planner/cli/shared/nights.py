"""`nights` of a mosaic that several instruments share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import print_json, print_line, progress_shown, say, write_out
from planner.cli.plan_answer import say_changed
from planner.exit_codes import DONE, FALLS_SHORT
from planner.words import money

if TYPE_CHECKING:
    from planner.answers.shared.shared_nights import SharedNights
    from planner.cli.progress.now_option import Moment
    from planner.night.timetable import Goal
    from planner.progress import Effort, Progress

__all__ = ["shared_nights"]


def shared_nights(
    file: Path,
    *,
    out: Path | None,
    as_json: bool,
    goal: Goal,
    done: Path | None,
    now: Moment,
    effort: Effort,
    dark: bool,
) -> int:
    """Plan the nights of every instrument, write and show them; returns the exit code."""
    from planner.cli.nights_report import say_made_up, say_over

    with progress_shown() as progress:
        nights = _planned(file, goal, done, now, effort, progress)
        contents = _contents(nights, progress, dark) if out else {}
    say_made_up(done)
    say_over(*(one.plan.request for one in nights.shared.instruments if done is None))
    if out:
        write_out(out, contents)
    if as_json:
        from planner.files.documents.shared_nights import shared_nights_document

        print_json(shared_nights_document(nights))
    else:
        _print(nights)
    for text in nights.shortfalls:
        say(text)
    changed = say_changed(*nights.shared.wholes)
    return max(DONE if nights.finished else FALLS_SHORT, changed)


def _planned(
    file: Path, goal: Goal, done: Path | None, now: Moment, effort: Effort, progress: Progress
) -> SharedNights:
    from planner.answers.shared.shared_nights import check_shared_nights, plan_shared_nights
    from planner.answers.shared.shared_plan import make_shared_plan
    from planner.files.documents.reviewed import read_shot
    from planner.files.plan_file.shared import read_shared_file

    request = read_shared_file(file)
    check_shared_nights(request)
    shared = make_shared_plan(request, effort=effort, progress=progress)
    names = [one.name for one in shared.instruments]
    if done is None:
        return plan_shared_nights(shared, goal=goal, progress=progress)
    shot = {
        one.name: read_shot(done, one.plan, instrument=one.name, instruments=names)
        for one in shared.instruments
    }
    return plan_shared_nights(
        shared,
        goal=goal,
        done={name: one.done for name, one in shot.items()},
        shots={name: one.shots for name, one in shot.items()},
        now=now,
        progress=progress,
    )


def _contents(nights: SharedNights, progress: Progress, dark: bool) -> dict[str, bytes]:
    """The joint timetable, and sheets, calendar and year of each instrument in a folder of its own."""
    from planner.cli.nights_report import nights_files
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.shared_nights import shared_nights_document

    contents = {"nights.json": json_bytes(shared_nights_document(nights))}
    for (_, one), folder in zip(nights.each, nights.shared.folders, strict=True):
        files = nights_files(one, progress, dark)
        contents |= {f"{folder}/{name}": content for name, content in files.items()}
    return contents


def _print(nights: SharedNights) -> None:
    from planner.cli.nights_report import print_nights

    for (one, own), words in zip(nights.each, nights.words or [""] * len(nights.nights), strict=True):
        print_line(f"{one.name}: {', '.join(one.instrument.filters) or 'no filters'}")
        if words:
            print_line(words)
        print_nights(own)
        print_line()
    print_line(f"{nights.shared.title}: together")
    print_line(_sum_line(nights))
    for one, own in nights.each:
        if own.timetable is not None and own.timetable.last is not None:
            print_line(
                f"{one.name}: last evening {own.timetable.last}, {own.timetable.hours_used:.1f} hours."
            )


def _sum_line(nights: SharedNights) -> str:
    if not nights.has_timetable:
        return "No [[filters]]: when panels can be shot, but no timetable."
    cost = money(nights.cost)
    spent = f"{nights.hours_used:.1f} hours" + (f", {cost}" if cost else "")
    if nights.last is None:
        return "Nothing is left to shoot." if nights.finished else "Nothing can be shot."
    what = "Finished on the evening of" if nights.finished else "Not finished; last evening"
    return f"{what} {nights.last.isoformat()}: {spent}; the instruments work at the same time."

"""`plan --which-angle`: panels and guaranteed overlap against camera angle instead of one plan."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from planner.exit_codes import DONE, FALLS_SHORT
from planner.progress import Progress
from planner.words import angle_words, overlap_words

from ._show import (
    both_on_terminal,
    live_table,
    print_json,
    print_line,
    print_table,
    progress_shown,
    room_of,
    say,
    table_of,
)
from .plan_extras import Output

if TYPE_CHECKING:
    from rich.console import Group

    from planner.answers.which_angle.curve import AngleCount, AngleCurve
    from planner.request.request import Request

__all__ = ["run"]

COLUMNS = ("angle", ">panels", ">more", "overlap", ">planned", "")
STOP = "Ctrl-C ends the work and keeps what has been found."
Partial = Callable[["AngleCurve"], None]


def run(request: Request, value: object, output: Output) -> int:
    """Compare the camera angles that a request allows; with a folder, write which-angle.json and which-angle.png.

    Counts in rows are on screen at once, and plans replace them; an interrupt (Ctrl-C) ends the work and keeps
    what has been found. Exit code 1 means that no plan at any of the angles gives what was asked.
    """
    curve, stopped = _curve(request, output)
    _write(curve, output)
    _show(curve, output, stopped=stopped)
    if curve.best.falls_short:
        say("the plans fall short of what was asked at every angle that was planned")
        return FALLS_SHORT
    return DONE


def _curve(request: Request, output: Output) -> tuple[AngleCurve, bool]:
    """Return the curve, or as much of it as there was when the user stopped the work, and whether that was so."""
    from planner.answers.which_angle.grow_curve import angle_curve

    last: list[AngleCurve] = []
    try:
        with _watched(output) as (progress, show):

            def partial(curve: AngleCurve) -> None:
                last[:] = [curve]
                show(curve)

            return angle_curve(request, effort=output.effort, progress=progress, partial=partial), False
    except KeyboardInterrupt:
        if not last:
            raise
        planned, angles = sum(one.proven for one in last[0].angles), len(last[0].angles)
        say(f"stopped with {planned} of {angles} angles planned; the others are counted in rows")
        return replace(last[0], waiting=0), True


@contextmanager
def _watched(output: Output) -> Iterator[tuple[Progress, Partial]]:
    """Show the curve while it grows: as a table on a terminal, elsewhere in a line what rows were counted to."""
    if both_on_terminal() and not output.as_json:
        with live_table() as (progress, show):
            yield (progress, lambda curve: show(f"{_estimates(curve)}. {STOP}", _live(curve)))
        return
    first = [] if output.as_json else [_tell]
    with progress_shown() as progress:
        yield progress, lambda curve: first.pop()(curve) if first else None


def _live(curve: AngleCurve) -> Group:
    return table_of(COLUMNS, _rows(curve), title=curve.title, room=room_of(sys.stderr))


def _tell(curve: AngleCurve) -> None:
    """Say what rows were counted to."""
    best, most = curve.best, max(one.panels for one in curve.angles)
    text = f"{best.panels} panels in rows at {angle_words(best.position_angle_deg)} degrees"
    text += f", up to {most} elsewhere" if most > best.panels else ""
    say(f"{text}: an estimate{_off(curve)}; {curve.waiting} of {len(curve.angles)} angles will be planned")


def _write(curve: AngleCurve, output: Output) -> None:
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.which_angle import which_angle_document

    contents = {"which-angle.json": json_bytes(which_angle_document(curve))}
    if output.folder is not None and output.chart:
        from planner.draw.pictures.angle_curve import which_angle_png

        contents["which-angle.png"] = which_angle_png(curve, dark=output.dark)
    output.write(contents)


def _show(curve: AngleCurve, output: Output, *, stopped: bool) -> None:
    if output.as_json:
        from planner.files.documents.which_angle import which_angle_document

        print_json(which_angle_document(curve))
        return
    print_table(COLUMNS, _rows(curve), title=curve.title)
    print_line()
    print_line(f"Best angle: {_sentence(curve.best)}.")
    if curve.asked is not None:
        more = curve.asked.panels - curve.best.panels
        print_line(f"Asked for: {_sentence(curve.asked)}, {more} more than the best.")
    if not all(one.proven for one in curve.angles):
        why = "stopped before the others were planned" if stopped else "a greater --effort plans more angles"
        print_line(f"{_estimates(curve)}; {why}.")


def _estimates(curve: AngleCurve) -> str:
    return f"~ is counted in rows, an estimate{_off(curve)}"


def _off(curve: AngleCurve) -> str:
    """What is known of how good the estimates are."""
    off = curve.off_estimate
    if off is None:
        return ", which can be too low by one or two so near a pole" if curve.near_pole else ""
    fewer, more = -off[0], off[1]
    words = [f"{count} {word}" for count, word in ((fewer, "fewer"), (more, "more")) if count > 0]
    return f": plans need up to {' or '.join(words)}" if words else ", right where it was planned"


def _rows(curve: AngleCurve) -> list[list[str]]:
    return [_row(alike, curve.best) for alike in _runs(curve)]


def _runs(curve: AngleCurve) -> list[list[AngleCount]]:
    """Neighbouring angles with equal counts, apart from those whose plans fall short."""
    return [list(alike) for _, alike in groupby(curve.angles, lambda one: (one.panels, one.falls_short))]


def _row(alike: list[AngleCount], best: AngleCount) -> list[str]:
    first, last = alike[0], alike[-1]
    angle = angle_words(first.position_angle_deg)
    if len(alike) > 1:
        angle += f" to {angle_words(last.position_angle_deg)}"
    overlaps = [one.overlap_found for one in alike if one.overlap_found is not None]
    more, planned = first.panels - best.panels, f"{len(overlaps)} of {len(alike)}"
    panels = f"{first.panels}" if overlaps else f"~{first.panels}"
    remark = (
        "falls short"
        if first.falls_short
        else f"best: {angle_words(best.position_angle_deg)}"
        if best in alike
        else ""
    )
    return [angle, panels, f"{more:+d}" if more else "", _overlap(overlaps), planned, remark]


def _overlap(found: list[float]) -> str:
    if not found:
        return ""
    low, high = overlap_words(min(found)), overlap_words(max(found))
    return low if low == high else f"{low} to {high}"


def _sentence(one: AngleCount) -> str:
    known = " in rows, an estimate"
    if one.overlap_found is not None:
        known = f" with {overlap_words(one.overlap_found, '{} overlap')}"
    return f"{angle_words(one.position_angle_deg)} degrees, {one.panels} panels{known}"

"""What `nights` prints: a line for each evening, then what the season comes to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from planner.answers.night_steps import NO_TIME_FOR, night_steps
from planner.answers.nights import panel_names
from planner.night.brightening import altitude_deg, brightening_mag
from planner.night.moon_rule import MoonRule, moon_rule
from planner.night.moonlight import airmass
from planner.night.spans import common, length_s
from planner.rig.cautions import cautions_for
from planner.words import counted

from ._show import print_line, print_table, say
from .progress import now_option
from .tables.folding import KEEP

if TYPE_CHECKING:
    from pathlib import Path

    from planner.answers.nights import NightsPlan
    from planner.night.survey import Survey
    from planner.night.timetable import Block, Bound, Timetable
    from planner.progress import Progress
    from planner.request.request import Request

__all__ = ["nights_files", "print_nights", "say_made_up", "say_over"]


def print_nights(nights: NightsPlan) -> None:
    """Print the evenings and the season."""
    survey = nights.survey
    for index, site in enumerate(survey.sites):
        rows = [_row(nights, night) for night in _nights_of(survey, index)]
        print_table(_columns(nights), rows, title=f"{site.name}, times in {site.time_zone}")
        print_line()
    for line in _season_lines(nights):
        print_line(line)


def say_over(*requests: Request) -> None:
    """Say once that a season has ended by now, so that its timetable lies on evenings already gone."""
    from planner.answers.progress.so_far import evening_of

    for one in requests:
        if one.nights is None or not one.sites:
            continue
        if one.nights.last < evening_of(now_option.clock().timestamp(), one.sites[0].zone):
            say(
                f"the season ended on {one.nights.last}: all its evenings are gone; give later dates in [nights] to "
                "shoot by the timetable"
            )
            return


def say_made_up(done: Path | None) -> None:
    """Say where a review.json, by which less is left to do, counts frames that nobody has taken."""
    from planner.files.documents.reviewed import made_up_words

    if done is not None and (words := made_up_words(done)):
        say(words)


def _nights_of(survey: Survey, site: int) -> list[int]:
    return [night for night, one in enumerate(survey.evenings) if one.evening.site == site]


def _columns(nights: NightsPlan) -> Sequence[str]:
    return (
        "Evening",
        "Dark",
        ">Hours",
        ">Moon",
        ">Moonless",
        ">Can be shot",
        ">Longest, hours",
        "~Timetable",
    )[: 8 if nights.timetable else 7]


def _row(nights: NightsPlan, night: int) -> Sequence[str]:
    survey = nights.survey
    one = survey.evenings[night]
    evening, zone = one.evening, survey.sites[one.evening.site].zone
    dark = " ".join(f"{clock_text(a, zone)}-{clock_text(b, zone)}" for a, b in evening.dark_s)
    moonless = evening.dark_hours - length_s(common(evening.dark_s, evening.moon_s)) / 3600.0
    hours = _shootable_hours(survey, night)
    best = max(hours, key=lambda panel: (hours[panel], -panel), default=None)
    cells = [
        evening.date.isoformat(),
        dark or "never dark",
        f"{evening.dark_hours:.1f}",
        f"{evening.moon_illumination:.0%}",
        f"{moonless:.1f}",
        f"{len(hours)}/{len(survey.targets)}",
        "-" if best is None else f"{survey.targets.names[best]} {hours[best]:.1f}",
    ]
    return cells if nights.timetable is None else [*cells, _work_text(survey, nights.timetable, night)]


def _shootable_hours(survey: Survey, night: int) -> dict[int, float]:
    """Hours of each panel that can be shot, through the filter that takes it longest; in the dark, without any."""
    sight = survey.evenings[night].sight
    if not survey.filters:
        return {panel: length_s(sight.windows_of(panel)) / 3600.0 for panel in np.unique(sight.panel).tolist()}
    longest = survey.filter_seconds(night).max(axis=1).tolist()
    return {panel: seconds / 3600.0 for panel, seconds in enumerate(longest) if seconds}


def clock_text(time_s: float, zone: dt.tzinfo) -> str:
    """Hours and minutes in a zone."""
    return f"{dt.datetime.fromtimestamp(time_s, tz=zone):%H:%M}"


def _work_text(survey: Survey, timetable: Timetable, night: int) -> str:
    """Blocks of one evening: panels with their exposures, filter by filter, those of a panel together."""
    blocks = [block for block in timetable.blocks if block.night == night]
    parts = []
    for chosen, run in groupby(blocks, key=lambda block: block.chosen):
        count: dict[int, int] = {}
        for block in run:
            count[block.panel] = count.get(block.panel, 0) + block.exposures
        panels = ", ".join(f"{survey.targets.names[panel]}{KEEP}{number}" for panel, number in count.items())
        parts.append(f"{survey.filters[chosen].name}: {panels}")
    return "; ".join(parts) or "-"


def _season_lines(nights: NightsPlan) -> Iterator[str]:
    survey, timetable = nights.survey, nights.timetable
    if len(survey.sites) > 1:
        yield from _site_lines(survey)
    if timetable is None:
        yield "No [[filters]] in the plan file: when panels can be shot, but no timetable."
    else:
        turns = sum(bool(steps.turn) for steps in night_steps(nights))
        yield _finish_line(survey, timetable)
        yield from _bound_lines(timetable.bound, turns=turns, currency=next(iter(timetable.cost), ""))
        yield from _filter_lines(survey, timetable)
        yield from _turn_lines(turns)
    yield from _wanderer_lines(nights)
    yield from (
        "Altitudes are geometric; an evening runs from noon to noon, site time; the Moon's illumination is "
        "that at the middle of the dark time.",
        *(f"Caution: {text}" for text in _cautions(nights)),
    )


def _turn_lines(turns: int) -> Iterator[str]:
    if turns:
        often = "once" if turns == 1 else f"{turns} times"
        yield (
            f"The camera is turned {often} between blocks: night sheets and calendar say when and to what, and "
            f"which flats are due before. {NO_TIME_FOR}: a block after a turn begins that much later."
        )


def _cautions(nights: NightsPlan) -> Sequence[str]:
    request = nights.plan.request
    turns = nights.timetable is not None
    return cautions_for(request.angle_device, request.mount, turns=turns, follows=True)


def _site_lines(survey: Survey) -> Iterator[str]:
    """Say which panels each of several sites can shoot."""
    for index, site in enumerate(survey.sites):
        seen = {
            int(panel) for night in _nights_of(survey, index) for panel in survey.evenings[night].sight.panel
        }
        names = panel_names(survey, sorted(seen))
        what = "every panel" if len(seen) == len(survey.targets) else names or "no panel"
        yield f"{site.name} can shoot {what}."


def _finish_line(survey: Survey, timetable: Timetable) -> str:
    evenings = len({survey.evenings[block.night].evening.date for block in timetable.blocks})
    cost = ", ".join(f"{value:,.0f} {currency}".rstrip() for currency, value in timetable.cost.items())
    many = counted(evenings, "evening")
    spent = f"{timetable.hours_used:.1f} hours on {many}" + (f", {cost}" if cost else "")
    if timetable.last is None:
        return "Nothing can be shot." if timetable.missing else "Nothing is left to shoot."
    what = "Finished on the evening of" if timetable.finished else "Not finished; last evening"
    return f"{what} {timetable.last.isoformat()}: {spent} ({timetable.goal})."


def _bound_lines(bound: Bound | None, *, turns: int, currency: str = "") -> Iterator[str]:
    """Say how near the best it is; that is not claimed where turns take time that is not in it."""
    if bound is None:
        return
    if bound.gap >= 5e-4:
        near = f", within {bound.gap:.1%} of the best possible"
    else:
        near = "" if turns else ", the best possible"
    paid = f" {currency}" if currency else ""
    yield {
        "evenings": f"No plan can finish before evening {bound.best:.0f} of the season; "
        f"this one needs {bound.ours:.0f}",
        "cost": f"No plan can cost less than {bound.best:,.0f}{paid}; this one costs {bound.ours:,.0f}{paid}",
        "hours": f"No plan can have fewer than {bound.best:.1f} hours; this one has {bound.ours:.1f}",
        "exposure_hours": f"No plan can have more than {bound.best:.1f} hours of exposures; "
        f"this one has {bound.ours:.1f}",
    }[bound.kind] + f"{near}{', before any time for turning the camera' if turns else ''}."


def _filter_lines(survey: Survey, timetable: Timetable) -> Iterator[str]:
    """Say under what Moon each filter is used, and how even the conditions are."""
    for index, chosen in enumerate(survey.filters):
        rule = moon_rule(chosen)
        blocks = [block for block in timetable.blocks if block.chosen == index]
        own = chosen.moon_separation_deg is not None or chosen.moon_illumination is not None
        default = "" if own else " (default of its band: common practice, no source)"
        yield f"{chosen.name}: {_rule_text(rule)}{default}{_evenness(survey, blocks)}."


def _rule_text(rule: MoonRule) -> str:
    limits = [f"at least {rule.separation_deg:g} degrees away"] if rule.separation_deg else []
    limits += [f"lit to at most {rule.illumination:.0%}"] if rule.illumination < 1.0 else []
    return f"with the Moon down, or {' and '.join(limits)}" if limits else "under any Moon"


def _evenness(survey: Survey, blocks: Sequence[Block]) -> str:
    if not blocks:
        return ""
    middles = [(block.night, block.panel, (block.start_s + block.end_s) / 2.0) for block in blocks]
    masses = [float(airmass(float(altitude_deg(survey, *middle)))) for middle in middles]
    glows = [float(brightening_mag(survey, *middle)) for middle in middles]
    moonlight = f"moonlight {min(glows):.1f} to {max(glows):.1f} magnitudes brighter than a dark sky"
    return (
        f"; airmass {min(masses):.2f} to {max(masses):.2f}, {moonlight if max(glows) >= 0.05 else 'no moonlight'}"
    )


def _wanderer_lines(nights: NightsPlan) -> Iterator[str]:
    """Say for each body which panels it comes near, and when."""
    survey = nights.survey
    for body, rows in groupby(sorted(nights.wanderers, key=lambda row: row.body), key=lambda row: row.body):
        found = list(rows)
        nearest = min(found, key=lambda row: row.separation_deg)
        dates = sorted({survey.evenings[row.night].evening.date for row in found})
        panels = panel_names(survey, sorted({row.panel for row in found}))
        yield (
            f"Mind: {body} inside or near {panels} on {counted(len(dates), 'evening')} "
            f"from {dates[0]} to {dates[-1]}; nearest {nearest.separation_deg:.1f} degrees from the centre "
            f"of {survey.targets.names[nearest.panel]}."
        )


def nights_files(nights: NightsPlan, progress: Progress, dark: bool) -> dict[str, bytes]:
    """Every file, by name; nothing is written before all are there."""
    from planner.draw.paper.night_sheet import night_sheets_pdf
    from planner.draw.pictures.year_picture import year_png
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.nights import nights_document
    from planner.files.exchange.calendar import calendar_bytes

    contents = {"nights.json": json_bytes(nights_document(nights))}
    if nights.timetable is not None:
        contents["nights.pdf"] = night_sheets_pdf(nights, progress)
        contents["nights.ics"] = calendar_bytes(nights)
    contents["year.png"] = year_png(nights, progress, dark=dark)
    return contents

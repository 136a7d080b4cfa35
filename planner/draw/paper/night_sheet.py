"""Night sheets: one page a night, as narrow as a phone, black on white so that red light leaves it readable."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.figure import Figure

from planner.answers.night_steps import NO_TIME_FOR, BlockSteps, flats_after, looking_words, night_steps
from planner.answers.panel_facts import readings_deg
from planner.files.user_table.angle_form import AngleForm
from planner.night.brightening import altitude_deg, moon_separation_deg
from planner.night.prices import price_at
from planner.night.spans import common
from planner.progress import Progress
from planner.rig.cautions import cautions_for
from planner.words import counted

from .ink_page import GREY, PALE, InkPage, pages_pdf
from .paper import readable

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.night.timetable import Block

__all__ = ["night_sheets_pdf"]

WIDTH_IN, SIDE_IN = 3.9, 0.2
INNER_IN = WIDTH_IN - 2 * SIDE_IN
HEAD_PT, BODY_PT, SMALL_PT, CAUTION_PT = 15.0, 11.0, 9.0, 8.0
LINE = 1.38
RA = AngleForm("hours", "sexagesimal", 1, ("h ", "m ", "s"), first_deg=0.0)
DEC = AngleForm("degrees", "sexagesimal", 0, ("° ", "′ ", "″"), sign="always")


def night_sheets_pdf(nights: NightsPlan, progress: Progress | None = None) -> bytes:
    """Return the sheets of all nights with work as PDF; the same plan gives the same bytes."""
    return pages_pdf(strip.drawn() for strip in _sheets(nights, progress))


def _sheets(nights: NightsPlan, progress: Progress | None) -> Iterator[_Strip]:
    worked = sorted({block.night for block in nights.timetable.blocks} if nights.timetable else ())
    for number, night in enumerate(worked):
        if progress:
            progress("drawing the night sheets", number / len(worked))
        yield _sheet(nights, night)
    if not worked:
        yield _empty_sheet(nights)


class _Strip:
    """A page filled from top to bottom; as long as what it holds.

    Parameters
    ----------
    title : str
        For the file's own description.
    """

    def __init__(self, title: str) -> None:
        self._ruler = InkPage(title)
        self._title = title
        self._parts: list[Callable[[InkPage, float], None]] = []
        self._heights: list[float] = []

    def line(
        self, text: str, *, right: str = "", size: float = BODY_PT, indent: float = 0.0, **style: Any
    ) -> None:
        """Write one line, cut to the width, with an optional text at its right end."""
        room = INNER_IN - indent - (self._width(right, size) + 0.08 if right else 0.0)
        weight = str(style.get("weight", "normal"))
        fitted = self._ruler.fitted(readable(text), size=size, width=room, weight=weight)

        def draw(page: InkPage, y: float) -> None:
            page.text(SIDE_IN + indent, y, fitted, size=size, **style)
            if right:
                page.text(WIDTH_IN - SIDE_IN, y, readable(right), size=size, ha="right", **style)

        self._add(LINE * size / 72, draw)

    def paragraph(self, text: str, *, size: float = SMALL_PT, **style: Any) -> None:
        """Write wrapped text."""
        weight = str(style.get("weight", "normal"))
        for piece in self._ruler.wrapped(readable(text), size=size, width=INNER_IN, weight=weight):
            self.line(piece, size=size, **style)

    def rule(self, *, strong: bool = False) -> None:
        """Draw a line across."""
        style = {"linewidth": 1.4} if strong else {"color": PALE}

        def draw(page: InkPage, y: float) -> None:
            page.line(SIDE_IN, y + 0.05, WIDTH_IN - SIDE_IN, y + 0.05, **style)

        self._add(0.12, draw)

    def gap(self, height: float = 0.08) -> None:
        """Leave room."""
        self._add(height, lambda page, y: None)

    def drawn(self) -> Figure:
        """Return the page."""
        page = InkPage(self._title)
        page.width, page.height = WIDTH_IN, sum(self._heights) + 2 * SIDE_IN
        page.figure.set_size_inches(page.width, page.height)
        y = page.height - SIDE_IN
        for height, draw in zip(self._heights, self._parts, strict=True):
            y -= height
            draw(page, y)
        return page.figure

    def _add(self, height: float, draw: Callable[[InkPage, float], None]) -> None:
        self._heights.append(height)
        self._parts.append(draw)

    def _width(self, text: str, size: float) -> float:
        return self._ruler.text_width(readable(text), size=size)


def _sheet(nights: NightsPlan, night: int) -> _Strip:
    strip = _Strip(nights.plan.request.title)
    blocks = [block for block in nights.timetable.blocks if block.night == night] if nights.timetable else []
    _head(strip, nights, night, blocks)
    ours = (steps for steps in night_steps(nights) if steps.block.night == night)
    for number, steps in enumerate(ours, start=1):
        _first(strip, steps)
        _block(strip, nights, number, steps.block)
    _foot(strip, nights, night, blocks)
    return strip


def _empty_sheet(nights: NightsPlan) -> _Strip:
    strip = _Strip(nights.plan.request.title)
    strip.line("No night has work", size=HEAD_PT, weight="bold")
    strip.line(nights.plan.request.title)
    season = nights.survey.nights
    strip.paragraph(
        f"Between {season.first} and {season.last} nothing can be shot, or nothing is left to shoot."
    )
    _cautions(strip, nights, turns=False)
    return strip


def _head(strip: _Strip, nights: NightsPlan, night: int, blocks: Sequence[Block]) -> None:
    survey = nights.survey
    evening = survey.evenings[night].evening
    site = survey.sites[evening.site]
    strip.line(f"{evening.date:%A} {evening.date.day} {evening.date:%B %Y}", size=HEAD_PT, weight="bold")
    strip.line(nights.plan.request.title, weight="bold")
    strip.line(f"{site.name}, site time {site.time_zone}", size=SMALL_PT, color=GREY)
    strip.gap()
    for start, end in evening.dark_s:
        strip.line(f"Dark {_clocks(start, end, site.zone)}", right=_utc_clocks(start, end))
    strip.line(_moon_text(nights, night))
    price = price_at(site, evening.moon_illumination)
    hours = sum(block.hours for block in blocks)
    cost = f", {hours * price:,.0f} {site.currency}".rstrip() if site.hour_price else ""
    strip.line(f"Work {hours:.1f} h in {counted(len(blocks), 'block')}{cost}")
    strip.rule(strong=True)


def _moon_text(nights: NightsPlan, night: int) -> str:
    evening = nights.survey.evenings[night].evening
    zone = nights.survey.sites[evening.site].zone
    up = ", ".join(_clocks(start, end, zone) for start, end in common(evening.dark_s, evening.moon_s))
    return f"Moon {evening.moon_illumination:.0%} lit, {f'up {up}' if up else 'down while it is dark'}"


def _block(strip: _Strip, nights: NightsPlan, number: int, block: Block) -> None:
    survey, panel = nights.survey, nights.plan.mosaic.panels[block.panel]
    zone = survey.site_of(block.night).zone
    chosen = survey.filters[block.chosen]
    strip.line(
        f"{number} · {panel.name} · {chosen.name} · {block.exposures} × {chosen.exposure_s:g} s",
        size=BODY_PT + 1,
        weight="bold",
    )
    strip.line(_clocks(block.start_s, block.end_s, zone), right=_utc_clocks(block.start_s, block.end_s))
    strip.line(f"{RA.write([panel.ra_deg])[0]}", right=DEC.write([panel.dec_deg])[0])
    strip.line(f"Angle {panel.position_angle_deg:.2f}°", right=_reading_text(nights, block.panel))
    strip.line(_altitude_text(nights, block), right=looking_words(block), size=SMALL_PT)
    strip.rule()


def _first(strip: _Strip, steps: BlockSteps) -> None:
    """Write what comes before a block, each on a line of its own."""
    for words in steps.first:
        strip.paragraph(words, weight="bold", size=BODY_PT)
        strip.rule()


def _reading_text(nights: NightsPlan, panel: int) -> str:
    if nights.plan.request.angle_device is None:
        return ""
    reading = float(readings_deg(nights.plan)[panel])
    return f"reading {reading:.2f}°" if math.isfinite(reading) else "angle out of travel"


def _altitude_text(nights: NightsPlan, block: Block) -> str:
    time = np.array([block.start_s, block.end_s], dtype=float)
    low, high = altitude_deg(nights.survey, block.night, [block.panel] * 2, time)
    away = moon_separation_deg(nights.survey, block.night, [block.panel] * 2, time).min()
    return f"Altitude {low:.0f}° to {high:.0f}°, Moon {away:.0f}° away"


def _foot(strip: _Strip, nights: NightsPlan, night: int, blocks: Sequence[Block]) -> None:
    for text in _warnings(nights, night, blocks):
        strip.paragraph(text, weight="bold", size=BODY_PT)
    flats = flats_after(nights, night)
    if flats:
        strip.paragraph(f"Before anybody turns the camera: {flats}.", weight="bold", size=SMALL_PT)
    clear = nights.survey.nights.clear_fraction
    cloud = f" and for {1 - clear:.0%} cloud" if clear < 1.0 else ""
    strip.paragraph(
        f"Times allow for overheads{cloud}. {NO_TIME_FOR}. Altitudes are geometric; positions are ICRS, "
        "angles east of north."
    )
    _cautions(strip, nights, turns=True)


def _warnings(nights: NightsPlan, night: int, blocks: Sequence[Block]) -> Iterator[str]:
    worked = {block.panel for block in blocks}
    for one in nights.wanderers:
        if one.night == night and one.panel in worked:
            name = nights.survey.targets.names[one.panel]
            yield f"Mind: {one.body} comes within {one.separation_deg:.1f}° of the centre of {name}."


def _cautions(strip: _Strip, nights: NightsPlan, *, turns: bool) -> None:
    request = nights.plan.request
    strip.gap()
    for text in cautions_for(request.angle_device, request.mount, turns=turns, follows=True):
        strip.paragraph(f"! {text}", weight="bold", size=CAUTION_PT)


def _clocks(start_s: float, end_s: float, zone: dt.tzinfo) -> str:
    start, end = (dt.datetime.fromtimestamp(time, tz=zone) for time in (start_s, end_s))
    return f"{start:%H:%M} to {end:%H:%M}"


def _utc_clocks(start_s: float, end_s: float) -> str:
    return f"{_clocks(start_s, end_s, dt.UTC)} UTC"

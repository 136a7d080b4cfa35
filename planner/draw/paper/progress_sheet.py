"""A page for the wall: the mosaic once for each filter, each panel filled as far as it is done, and what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.answers.progress.words import facts, headline, per_cent
from planner.draw.figure_png import figure_png
from planner.draw.palette import LIGHT

from .ink_page import GREY, PALE, InkPage
from .panel_fill import draw_fills, mosaic_aspect
from .paper import readable

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress, PanelProgress

__all__ = ["progress_pdf", "progress_png"]

DPI = 150
SIDE_IN, HEAD_IN, BOTTOM_IN = 0.6, 1.34, 0.75
"""The page's rim, the room of its head, and where its last line stands."""
HEAD_PT, CAPTION_PT, BODY_PT = 20.0, 11.0, 9.5
LINE_IN = 0.19
CAPTION_IN, GAP_IN = 0.3, 0.2
MOST_MAPS = 12
LABEL_IN = 1.05
NOTE = (
    "Blue: begun, filled from below as far as the wanted seconds are there; green: done. Dashed: the region; "
    "thin line: the picture; thinner grey lines: the panels."
)


def progress_pdf(standing: MosaicProgress) -> bytes:
    """Return the page as PDF; the same standing gives the same bytes."""
    return _page(standing).pdf()


def progress_png(standing: MosaicProgress) -> bytes:
    """Return the page as PNG; the same standing gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: _page(standing).figure)


def _page(standing: MosaicProgress) -> InkPage:
    """Draw the page, upright or lying, whichever shows the maps larger."""
    upright, lying = _Sheet(standing, lying=False), _Sheet(standing, lying=True)
    return max(upright, lying, key=lambda sheet: sheet.grid()[2]).drawn()


class _Sheet:
    """A page of A4, upright or lying."""

    def __init__(self, standing: MosaicProgress, *, lying: bool) -> None:
        self.standing = standing
        self.page = InkPage(f"{standing.plan.request.title}: where it stands")
        if lying:
            self.page.width, self.page.height = self.page.height, self.page.width
            self.page.figure.set_size_inches(self.page.width, self.page.height)
        self.page.figure.set_dpi(DPI)
        self.width, self.top = self.page.width - 2 * SIDE_IN, self.page.height - HEAD_IN
        self.lines = [
            (label if number == 0 else "", line)
            for label, text in facts(standing)
            if label != "Done"
            for number, line in enumerate(self._wrapped(text))
        ]
        self.floor = BOTTOM_IN + LINE_IN * len(self.lines) + 0.25
        self.names: list[str | None] = [*standing.shares] or [None]

    def _wrapped(self, text: str) -> list[str]:
        return list(self.page.wrapped(readable(text), size=BODY_PT, width=self.width - LABEL_IN))

    def grid(self) -> tuple[int, int, float]:
        """Return how many maps stand beside and above each other, and how high a map is on paper, inches."""
        count, aspect = min(len(self.names), MOST_MAPS), mosaic_aspect(self.standing.plan)
        grids = []
        for across in range(1, min(count, 4) + 1):
            down = -(-count // across)
            width, height = self._room(across, down)
            grids.append((across, down, min(height, width / aspect)))
        return max(grids, key=lambda one: (one[2], -one[0]))

    def _room(self, across: int, down: int) -> tuple[float, float]:
        """Width and height that each of so many maps gets, its heading left out."""
        width = (self.width - GAP_IN * (across - 1)) / across
        return width, (self.top - self.floor) / down - CAPTION_IN

    def drawn(self) -> InkPage:
        """Return the page with all that stands on it."""
        self._head()
        self._foot()
        self._maps()
        return self.page

    def _head(self) -> None:
        page, title = self.page, readable(self.standing.plan.request.title)
        fitted = page.fitted(title, size=HEAD_PT, width=self.width, weight="bold")
        page.text(SIDE_IN, self.top + 0.62, fitted, size=HEAD_PT, weight="bold")
        evening = self.standing.evening
        when = f" before the evening of {evening}" if evening and not self.standing.finished else ""
        line = readable(f"Done{when}: {headline(self.standing)}")
        fitted = page.fitted(line, size=12.0, width=self.width)
        page.text(SIDE_IN, self.top + 0.32, fitted, size=12.0, color=GREY)

    def _foot(self) -> None:
        page, rule = self.page, self.floor - 0.13
        page.line(SIDE_IN, rule, SIDE_IN + self.width, rule, color=PALE)
        for number, (label, line) in enumerate(self.lines):
            y = rule - 0.12 - LINE_IN * (number + 0.6)
            page.text(SIDE_IN, y, label, size=BODY_PT, weight="bold")
            page.text(SIDE_IN + LABEL_IN, y, line, size=BODY_PT)
        page.text(SIDE_IN, 0.45, NOTE, size=7.5, color=GREY)

    def _maps(self) -> None:
        across, down, _ = self.grid()
        width, height = self._room(across, down)
        for number, name in enumerate(self.names[:MOST_MAPS]):
            x = SIDE_IN + (number % across) * (width + GAP_IN)
            y = self.top - (number // across + 1) * (height + CAPTION_IN)
            _map(self.page, self.standing, name, (x, y, width, height))
        if len(self.names) > MOST_MAPS:
            more = f"and {len(self.names) - MOST_MAPS} more filters"
            place = SIDE_IN + self.width, self.top + 0.05
            self.page.text(*place, more, size=7.5, color=GREY, ha="right")


def _map(
    page: InkPage, standing: MosaicProgress, name: str | None, place: tuple[float, float, float, float]
) -> None:
    """Draw the mosaic for one filter, or for all frames, with its heading."""
    x, y, width, height = place
    top = y + height
    page.text(x, top + 0.08, readable(name or "Any filter"), size=CAPTION_PT, weight="bold")
    right = page.fitted(_amount(standing, name), size=BODY_PT, width=width - 0.9)
    page.text(x + width, top + 0.08, right, size=BODY_PT, ha="right", color=LIGHT.ink)
    axes = page.axes(x, y, width, height)
    shares, words = _panels(standing, name)
    draw_fills(axes, standing.plan, shares, words, size_in=(width, height))


def _amount(standing: MosaicProgress, name: str | None) -> str:
    if name is None:
        return headline(standing)
    own = [row for row in standing.rows if row.filter == name]
    done = sum(row.done_seconds for row in own) / 3600
    wanted = sum(row.wanted_seconds or 0.0 for row in own) / 3600
    return f"{done:.2f} of {wanted:.2f} hours, {per_cent(standing.shares[name])}"


def _panels(standing: MosaicProgress, name: str | None) -> tuple[dict[str, float], dict[str, str]]:
    """Return how far each panel is done, and what is written into it."""
    if name is not None:
        own = [row for row in standing.rows if row.filter == name]
        return ({row.name: row.share or 0.0 for row in own}, {row.name: _hours(row) for row in own})
    lacking = {row.name for row in standing.rows if row.missing}
    counts: dict[str, int] = {}
    for row in standing.rows:
        counts[row.name] = counts.get(row.name, 0) + row.exposures
    return {row.name: float(row.name not in lacking) for row in standing.rows}, {
        panel: str(count) for panel, count in counts.items()
    }


def _hours(row: PanelProgress) -> str:
    """Hours that there are and hours that are wanted."""
    there = max(row.seconds, row.had_seconds)
    return f"{there / 3600:.2f}/{(row.wanted_seconds or 0.0) / 3600:.2f} h"

"""A page for the wall: the mosaic once for each filter, each panel filled as far as it is done, and what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.answers.progress.words import facts, headline, per_cent
from planner.draw.figure_png import figure_png
from planner.draw.palette import LIGHT

from .ink_page import GREY, PALE, InkPage
from .panel_fill import draw_fills
from .paper import readable

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress

__all__ = ["progress_pdf", "progress_png"]

DPI = 150
LEFT, WIDTH, TOP, BOTTOM = 0.6, 7.07, 10.35, 0.75
"""Inches: the page's rim, and the first and last line between which maps and words stand."""
HEAD_PT, CAPTION_PT, BODY_PT = 20.0, 11.0, 9.5
LINE_IN = 0.19
CAPTION_IN, GAP_IN = 0.3, 0.2
MOST_MAPS = 12
LABEL_IN = 1.05


def progress_pdf(standing: MosaicProgress) -> bytes:
    """Return the page as PDF; the same standing gives the same bytes."""
    return _page(standing).pdf()


def progress_png(standing: MosaicProgress) -> bytes:
    """Return the page as PNG; the same standing gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: _page(standing).figure)


def _page(standing: MosaicProgress) -> InkPage:
    page = InkPage(f"{standing.plan.request.title}: where it stands")
    page.figure.set_dpi(DPI)
    _head(page, standing)
    floor = _foot(page, standing)
    _maps(page, standing, floor)
    return page


def _head(page: InkPage, standing: MosaicProgress) -> None:
    title = page.fitted(readable(standing.plan.request.title), size=HEAD_PT, width=WIDTH, weight="bold")
    page.text(LEFT, TOP + 0.62, title, size=HEAD_PT, weight="bold")
    when = f" before the evening of {standing.evening}" if standing.evening and not standing.finished else ""
    line = page.fitted(readable(f"Done{when}: {headline(standing)}"), size=12.0, width=WIDTH)
    page.text(LEFT, TOP + 0.32, line, size=12.0, color=GREY)


def _foot(page: InkPage, standing: MosaicProgress) -> float:
    """Write what there is to know at the foot of the page; return where it begins, inches."""
    lines = [
        (label if number == 0 else "", line)
        for label, text in facts(standing)
        if label != "Done"
        for number, line in enumerate(page.wrapped(readable(text), size=BODY_PT, width=WIDTH - LABEL_IN))
    ]
    top = BOTTOM + LINE_IN * len(lines)
    page.line(LEFT, top + 0.12, LEFT + WIDTH, top + 0.12, color=PALE)
    for number, (label, line) in enumerate(lines):
        y = top - LINE_IN * (number + 0.6)
        page.text(LEFT, y, label, size=BODY_PT, weight="bold")
        page.text(LEFT + LABEL_IN, y, line, size=BODY_PT)
    note = (
        "Blue: begun, filled from below as far as the wanted seconds are there; green: done. Dashed: the region; "
        "thin line: the picture."
    )
    page.text(LEFT, 0.45, note, size=7.5, color=GREY)
    return top + 0.25


def _maps(page: InkPage, standing: MosaicProgress, floor: float) -> None:
    names: list[str | None] = [*standing.shares] or [None]
    shown = names[:MOST_MAPS]
    across = 1 if len(shown) == 1 else 2 if len(shown) <= 6 else 3
    down = -(-len(shown) // across)
    width = (WIDTH - GAP_IN * (across - 1)) / across
    height = (TOP - floor) / down
    if len(shown) == 2:
        across, down, width, height = 1, 2, WIDTH, (TOP - floor) / 2
    for number, name in enumerate(shown):
        x = LEFT + (number % across) * (width + GAP_IN)
        y = TOP - (number // across + 1) * height
        _map(page, standing, name, (x, y, width, height))
    if len(names) > len(shown):
        more = f"and {len(names) - len(shown)} more filters"
        page.text(LEFT + WIDTH, TOP + 0.05, more, size=7.5, color=GREY, ha="right")


def _map(
    page: InkPage, standing: MosaicProgress, name: str | None, place: tuple[float, float, float, float]
) -> None:
    """Draw the mosaic for one filter, or for all frames, with its heading."""
    x, y, width, height = place
    top = y + height - CAPTION_IN
    page.text(x, top + 0.08, readable(name or "Any filter"), size=CAPTION_PT, weight="bold")
    right = page.fitted(_amount(standing, name), size=BODY_PT, width=width - 0.9)
    page.text(x + width, top + 0.08, right, size=BODY_PT, ha="right", color=LIGHT.ink)
    axes = page.axes(x, y, width, height - CAPTION_IN)
    shares, words = _panels(standing, name)
    draw_fills(axes, standing.plan, shares, words, size_in=(width, height - CAPTION_IN))


def _amount(standing: MosaicProgress, name: str | None) -> str:
    if name is None:
        return headline(standing)
    own = [row for row in standing.rows if row.filter == name]
    done = sum(row.done_seconds for row in own) / 3600
    wanted = sum(row.wanted_seconds or 0.0 for row in own) / 3600
    return f"{done:.1f} of {wanted:.1f} hours, {per_cent(standing.shares[name])}"


def _panels(standing: MosaicProgress, name: str | None) -> tuple[dict[str, float], dict[str, str]]:
    """Return how far each panel is done, and what is written into it."""
    if name is not None:
        own = [row for row in standing.rows if row.filter == name]
        return (
            {row.name: row.share or 0.0 for row in own},
            {row.name: f"{row.exposures}/{row.wanted}" for row in own},
        )
    lacking = {row.name for row in standing.rows if row.missing}
    counts: dict[str, int] = {}
    for row in standing.rows:
        counts[row.name] = counts.get(row.name, 0) + row.exposures
    return {row.name: float(row.name not in lacking) for row in standing.rows}, {
        panel: str(count) for panel, count in counts.items()
    }

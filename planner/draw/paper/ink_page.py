"""One page of A4 in black ink: lines, boxes and text placed in inches, text wrapped to a width.

Red light makes red ink invisible, so a page that is read beside a telescope has no colour.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any

from fontTools.subset import Options
from matplotlib import rc_context, rcParams
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from planner.draw.map.map_view import FONT

__all__ = ["BLACK", "FONT", "GREY", "PALE", "InkPage", "pages_pdf"]

A4_IN = (8.27, 11.69)
BLACK, GREY, PALE, WHITE = "#000000", "#555555", "#dddddd", "#ffffff"
LEADING = 1.32
"""Distance of baselines in units of the type size."""
LONGEST_WORD = 60
MARK = b"% mosaic planner\n"
"""By which a file of pages is known for ours."""
SHAPING = ("GSUB", "GPOS", "GDEF", "kern")
"""Tables of a font by which text is shaped: letters on a page have their places already."""
SAFETY = 0.97
"""Measured widths come from a screen font, which is up to 3 per cent off."""


class InkPage:
    """One page; places are inches from its left bottom corner.

    Parameters
    ----------
    title : str
        For the file's own description.
    """

    def __init__(self, title: str) -> None:
        self.title = title
        self.width, self.height = A4_IN
        self.figure = Figure(figsize=A4_IN, facecolor=WHITE)
        FigureCanvasAgg(self.figure)

    def text(self, x: float, y: float, text: str, *, size: float, **style: Any) -> None:
        """Write one line with its baseline at (x, y); style as matplotlib's text has it."""
        style = {"color": BLACK, "ha": "left", "va": "baseline", "family": FONT, **style}
        self.figure.text(x / self.width, y / self.height, text, size=size, parse_math=False, **style)

    def paragraph(self, x: float, y: float, text: str, *, size: float, width: float, **style: Any) -> float:
        """Write wrapped text, its first baseline at y; return the baseline for what follows."""
        for line in self.wrapped(text, size=size, width=width, weight=str(style.get("weight", "normal"))):
            self.text(x, y, line, size=size, **style)
            y -= size * LEADING / 72
        return y

    def wrapped(self, text: str, *, size: float, width: float, weight: str = "normal") -> Iterator[str]:
        """Break text into lines no wider than a width in inches; very long words are cut."""
        line, width = "", width * SAFETY
        for word in _short_words(text):
            longer = f"{line} {word}".strip()
            if line and self.text_width(longer, size=size, weight=weight) > width:
                yield line
                longer = word
            line = longer
        if line:
            yield line

    def fitted(self, text: str, *, size: float, width: float, weight: str = "normal") -> str:
        """Return text cut to one line of a width in inches."""
        text = " ".join(text.split())[:300]
        if self.text_width(text, size=size, weight=weight) <= width:
            return text
        while text and self.text_width(f"{text}…", size=size, weight=weight) > width:
            text = text[: len(text) - max(1, len(text) // 20)]
        return f"{text.rstrip()}…"

    def text_width(self, text: str, *, size: float, weight: str = "normal") -> float:
        """Width of a line of text, inches."""
        return _width_in(text, size, weight, float(self.figure.dpi), str(rcParams["text.hinting"]))

    def box(self, x: float, y: float, width: float, height: float, **style: Any) -> None:
        """Draw a rectangle with its left bottom corner at (x, y)."""
        style = {"facecolor": "none", "edgecolor": BLACK, "linewidth": 1.0, **style}
        corner = (x / self.width, y / self.height)
        self.figure.add_artist(Rectangle(corner, width / self.width, height / self.height, **style))

    def line(self, x: float, y: float, to_x: float, to_y: float, **style: Any) -> None:
        """Draw a straight line."""
        xs, ys = [x / self.width, to_x / self.width], [y / self.height, to_y / self.height]
        self.figure.add_artist(Line2D(xs, ys, **{"color": BLACK, "linewidth": 1.0, **style}))

    def axes(self, x: float, y: float, width: float, height: float) -> Axes:
        """Return bare axes on a part of the page."""
        place = (x / self.width, y / self.height, width / self.width, height / self.height)
        axes = self.figure.add_axes(place)
        axes.set_axis_off()
        return axes

    def pdf(self) -> bytes:
        """Return the page as PDF; the same page gives the same bytes."""
        stream = io.BytesIO()
        FigureCanvasPdf(self.figure)
        about = {"Title": self.title, "Creator": "mosaic planner", "Producer": None, "CreationDate": None}
        with _letters_alone(), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # signs that the font lacks appear as boxes
            self.figure.savefig(stream, format="pdf", metadata=about)
        return stream.getvalue()


@lru_cache(maxsize=50_000)
def _width_in(text: str, size: float, weight: str, dpi: float, hinting: str) -> float:
    """Width of a line of text, inches; pages repeat most of their words, so each line is measured once."""
    font = FontProperties(family=FONT, size=size, weight=weight)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # signs that the font lacks appear as boxes
        wide, _, _ = RendererAgg(1, 1, dpi).get_text_width_height_descent(text, font, ismath=False)
    return float(wide / dpi)


def pages_pdf(pages: Iterable[Figure]) -> bytes:
    """Return pages as one PDF; the same pages give the same bytes."""
    stream = io.BytesIO()
    about = {"Creator": "mosaic planner", "CreationDate": None}
    with _letters_alone(), PdfPages(stream, metadata=about) as pdf:
        for page in pages:
            pdf.savefig(page, facecolor=page.get_facecolor())
    return stream.getvalue() + MARK


@contextmanager
def _letters_alone() -> Iterator[None]:
    """Whole letters go into a page, so that its text can be found; not the tables that would take half the time."""
    usual = Options._drop_tables_default
    Options._drop_tables_default = list(dict.fromkeys((*usual, *SHAPING)))
    try:
        with rc_context({"pdf.fonttype": 42}):
            yield
    finally:
        Options._drop_tables_default = usual


def _short_words(text: str) -> Iterator[str]:
    for word in text.split():
        for start in range(0, len(word), LONGEST_WORD):
            yield word[start : start + LONGEST_WORD]

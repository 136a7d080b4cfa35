"""Letters of a page, drawn by a reader that shares no code with what wrote it."""

import io

import numpy as np
import pytest
from PIL import Image

from planner.draw.paper.ink_page import InkPage, pages_pdf
from tests.draw.paper.pdf_text import pdf_ink

LINES = ("Turn the camera to reading 87.60° first", "Туманность Паруса, ω λ 0123456789", "office, fjord, waffle")
DPI = 60
SCREEN_FONT = 0.04
"""Widths in the screen's type are up to so much off."""


def page_of_letters():
    """Each line plain and bold; return the page and the heights of the baselines, inches."""
    page, heights = InkPage("Letters"), {}
    for number, (words, weight) in enumerate(
        (words, weight) for words in LINES for weight in ("normal", "bold")
    ):
        heights[words, weight] = 10.5 - 1.5 * number
        page.text(1.0, heights[words, weight], words, size=22, weight=weight)
    return page, heights


def ink_by_screen(page):
    """Darkness of the page as the screen's renderer draws it."""
    stream = io.BytesIO()
    page.figure.savefig(stream, format="png", dpi=DPI)
    stream.seek(0)
    return 1.0 - np.asarray(Image.open(stream).convert("L")) / 255.0


@pytest.mark.parametrize("made", ["one page", "of several"])
def test_a_reader_draws_the_letters_that_the_screen_shows(made):
    wanted = ink_by_screen(page_of_letters()[0])
    page, heights = page_of_letters()
    found = pdf_ink(page.pdf() if made == "one page" else pages_pdf([page.figure]), DPI)
    for line, height in heights.items():
        rows = slice(int((page.height - height - 0.7) * DPI), int((page.height - height + 0.5) * DPI))
        assert found[rows].sum() == pytest.approx(wanted[rows].sum(), rel=0.12), line
        ends = [np.flatnonzero(ink[rows].max(axis=0) > 0.3)[[0, -1]] for ink in (wanted, found)]
        assert np.abs(ends[0] - ends[1]).max() <= SCREEN_FONT * np.ptp(ends[0]), line

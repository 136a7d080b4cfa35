"""Margins and angles of one frame in words and rounded, the same in every table, picture and page."""

from __future__ import annotations

from planner.words import rounded_down

__all__ = ["frame_angle_text", "margin_words", "rounded_margin", "shortage"]


def rounded_margin(arcmin: float) -> str:
    """Return a margin rounded down to a tenth of an arc minute: what is shown is there.

    >>> rounded_margin(9.699)
    '9.6'
    """
    return rounded_down(arcmin, 1, slack=1e-6)


def shortage(arcmin: float) -> str:
    """Return what a negative margin lacks, rounded up to a tenth of an arc minute: that much is enough.

    >>> shortage(-52.02)
    '52.1'
    """
    return rounded_margin(arcmin).removeprefix("-")


def margin_words(arcmin: float) -> str:
    """Return a margin, or by how much a frame is too small for it.

    >>> margin_words(9.699), margin_words(-52.02)
    ('9.6', 'short by 52.1')
    """
    return rounded_margin(arcmin) if arcmin >= 0 else f"short by {shortage(arcmin)}"


def frame_angle_text(angle_deg: float) -> str:
    """Return the position angle at which one frame is best, which half a turn leaves as it is, with two decimals.

    >>> frame_angle_text(179.999)
    '0.00'
    """
    return f"{round(angle_deg, 2) % 180.0:.2f}"

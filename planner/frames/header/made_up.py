"""The mark of frames that a rehearsal made up, so that none is ever taken for a real one."""

from __future__ import annotations

from .cards import ImageHeader, parse_value

__all__ = ["MADE_UP", "MADE_UP_WHY", "is_made_up"]

MADE_UP = "MADEUP"
"""Keyword of the mark; its value is T."""
MADE_UP_WHY = "made up to practise with; nobody has taken it"
"""What stands beside the mark."""


def is_made_up(header: ImageHeader) -> bool:
    """Whether a frame's header says that nobody has taken it."""
    text = header.values.get(MADE_UP)
    return text is not None and parse_value(text) is True

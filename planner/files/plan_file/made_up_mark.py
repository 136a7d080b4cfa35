"""The comment of plan files that made-up frames have had a hand in, so that none passes for one of real frames."""

from __future__ import annotations

from .write import BYTE_ORDER_MARK

__all__ = ["MADE_UP_LINE", "marked_made_up"]

MADE_UP_LINE = (
    "# Made up, to practise with: frames of a rehearsal decided what is listed here. Shoot nothing by it.\n"
)


def marked_made_up(text: str) -> str:
    r"""Return the text of a plan file with the comment before everything else, once.

    >>> marked_made_up(marked_made_up('title = "Shell"\n')).count("Made up")
    1
    """
    if MADE_UP_LINE.strip() in text:
        return text
    mark, rest = (BYTE_ORDER_MARK, text[1:]) if text.startswith(BYTE_ORDER_MARK) else ("", text)
    return f"{mark}{MADE_UP_LINE}{rest}"

"""Formats of the picture that hang on a wall, as a choice: its proportions by name, and which way up.

The A series has the proportions of ISO 216: one to the root of two, in whole millimetres 210 to 297.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from planner.errors import InputError

from .gestures import Edits

if TYPE_CHECKING:
    from planner.request.request import PictureRequest

__all__ = ["FORMATS", "OTHER", "WAYS", "format_edits", "format_of", "way_of"]

FORMATS: dict[str, tuple[int, int] | None] = {
    "free": None,
    "1:1": (1, 1),
    "5:4": (5, 4),
    "4:3": (4, 3),
    "3:2": (3, 2),
    "16:9": (16, 9),
    "A series": (297, 210),
}
OTHER = "own"
"""Proportions that have no name here."""
WAYS = ("lies", "stands", "either")
CLOSE = 5e-4
"""Ratios that differ by no more of themselves are one: the A series rounds to whole millimetres."""


def format_of(asked: PictureRequest | None) -> str:
    """Return the name of the picture's proportions, either way up.

    >>> from planner.request.request import PictureRequest
    >>> format_of(PictureRequest(aspect=(2, 3))), format_of(PictureRequest(aspect=(1.414, 1))), format_of(None)
    ('3:2', 'A series', 'free')
    """
    if asked is None or asked.aspect is None:
        return "free"
    ratio = max(asked.aspect) / min(asked.aspect)
    named = ((name, sides) for name, sides in FORMATS.items() if sides)
    return next(
        (name for name, (width, height) in named if math.isclose(ratio, width / height, rel_tol=CLOSE)), OTHER
    )


def way_of(asked: PictureRequest | None) -> str:
    """Return whether the picture's longer side lies, stands, or may do either."""
    if asked is None or asked.aspect is None:
        return "lies"
    if asked.upright == "either":
        return "either"
    return "lies" if asked.aspects[0] and asked.aspects[0] >= 1.0 else "stands"


def format_edits(asked: PictureRequest | None, name: str, way: str) -> Edits:
    """Return the edits that give the picture the proportions of a name, and a way up.

    Raises
    ------
    InputError
        If there is no such name or way.

    >>> format_edits(None, "3:2", "stands")
    {'picture.aspect': [2, 3], 'picture.upright': None}
    """
    if name not in (*FORMATS, OTHER) or way not in WAYS:
        names = ", ".join(FORMATS)
        raise InputError(f"a format is one of {names}, and {', '.join(WAYS)}; got {name!r} and {way!r}")
    own = asked.aspect if asked and name == OTHER else None
    sides = own or FORMATS.get(name)
    if sides is None:
        return {"picture.aspect": None, "picture.upright": None}
    aspect = sorted(sides, reverse=way != "stands")
    return {"picture.aspect": aspect, "picture.upright": "either" if way == "either" else None}

"""Where a frame was pointed, as its header says: a hint for solving it, never taken for more.

Keywords: RA and DEC (numbers in degrees, or text in hours and degrees), OBJCTRA and OBJCTDEC (text); common
practice, no source.
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from planner.frames.header.cards import ImageHeader, parse_value
from planner.geometry import sky_to_vector

__all__ = ["pointing_hint"]

PAIRS = (("RA", "DEC"), ("OBJCTRA", "OBJCTDEC"))
_SEXAGESIMAL = re.compile(
    r"\s*([+-]?)(\d+(?:\.\d*)?)(?:[\s:hd°]+(\d+(?:\.\d*)?))?(?:[\s:m']+(\d+(?:\.\d*)?))?[\ss\"]*\Z"
)


def pointing_hint(header: ImageHeader) -> NDArray[np.float64] | None:
    """Unit vector of the position in a header; None where it holds none that makes sense."""
    for ra_key, dec_key in PAIRS:
        ra_deg = _degrees(header, ra_key, 15.0)
        dec_deg = _degrees(header, dec_key, 1.0)
        if ra_deg is not None and dec_deg is not None and 0 <= ra_deg <= 360 and abs(dec_deg) <= 90:
            return sky_to_vector(ra_deg, dec_deg)
    return None


def _degrees(header: ImageHeader, key: str, unit_deg: float) -> float | None:
    """Value of a keyword in degrees; text is in units of so many degrees and their sixtieths."""
    text = header.values.get(key)
    value = None if text is None else parse_value(text)
    if isinstance(value, str):
        units = sexagesimal(value)
        return None if units is None else units * unit_deg
    return None if value is None or isinstance(value, bool) else float(value)


def sexagesimal(text: str) -> float | None:
    """Number of units in text such as ``-45 50 12``; None if it is none.

    >>> sexagesimal("08 34 30"), sexagesimal("-00:30"), sexagesimal("12.5"), sexagesimal("soon")
    (8.575, -0.5, 12.5, None)
    """
    match = _SEXAGESIMAL.match(text)
    if not match:
        return None
    sign, *parts = match.groups()
    size = sum(float(part) / 60.0**place for place, part in enumerate(parts) if part)
    return float(-size if sign == "-" else size)

"""What a search text means: an object of the catalogue, or a position."""

from __future__ import annotations

import re

from planner.errors import InputError
from planner.files.plan_file.sky_angle import degrees_from_text, right_ascension_deg

__all__ = ["find_position"]

PARTED = re.compile(r"\s*,\s*|\s+(?=[+\-\u2212])|(?<=[hsd°\d])\s+(?=\d)")


def find_position(text: str) -> tuple[str | None, tuple[float, float]]:
    """Return the object's name (None for coordinates) and the position, ICRS degrees.

    Raises
    ------
    InputError
        If it is neither an object of the catalogue nor a position.

    >>> find_position("08h34m -45d30m"), find_position("128.5, -45.5")
    ((None, (128.5, -45.5)), (None, (128.5, -45.5)))
    >>> find_position("m31")[0], find_position("the Wizard Nebula")[0]
    ('M 31', 'NGC 7380')
    """
    text = text.strip()
    if not text:
        raise InputError("give an object such as 'M 31', or a position such as '08h34m -45d50m'")
    parts = PARTED.split(text)
    if text[0].isdigit() and len(parts) == 2:
        ra_deg, dec_deg = right_ascension_deg(_plain(parts[0])), degrees_from_text(parts[1])
        if not (0.0 <= ra_deg < 360.0 and -90.0 <= dec_deg <= 90.0):
            raise InputError(f"{text!r} is no position on the sky; declinations lie in [-90, 90]")
        return None, (ra_deg, dec_deg)
    from planner.catalogue.nebulae import Nebula, find_group, find_named

    if group := find_group(text):
        return text, (group[0].ra_deg, group[0].dec_deg)
    found = find_named(text)
    return found.name if isinstance(found, Nebula) else found.label, (found.ra_deg, found.dec_deg)


def _plain(text: str) -> str | float:
    """Return a bare number as degrees."""
    return float(text) if re.fullmatch(r"[\d.]+", text) else text

"""Angles as people write them in a plan file: text of many forms to degrees."""

from __future__ import annotations

import math
import re
import warnings

from planner.errors import InputError

__all__ = ["angle_from_text", "degrees_from_text", "right_ascension_deg"]

LONGEST = 100
NUMBER = r"(?:\d+(?:\.\d*)?|\.\d+)"
WITH_UNITS = re.compile(
    rf"""(?P<sign>[+-]?)\s*
    (?P<first>{NUMBER})\s*(?P<unit>h|hr|hours?|d|deg|degrees?|°)\s*
    (?:(?P<minutes>{NUMBER})\s*(?:m|min|'|′)\s*)?
    (?:(?P<seconds>{NUMBER})\s*(?:s|sec|"|″|'')\s*)?""",
    re.VERBOSE,
)
"""Such as 08h34m00s, -45d50m, 45°50'12.5" or 8.5667h."""
IN_HOURS = re.compile(r"[\d.]\s*h")
WITHOUT_UNITS = re.compile(rf"[+-]?{NUMBER}(?:e[+-]?\d+)?")
COLONS = re.compile(
    rf"(?P<sign>[+-]?)(?P<first>\d+)[:\s]+(?P<minutes>{NUMBER})(?:[:\s]+(?P<seconds>{NUMBER}))?"
)
"""Such as -45:50:12, which is degrees for all angles but a right ascension."""


def right_ascension_deg(value: float | str) -> float:
    """Right ascension in [0, 360), degrees, from a number of degrees or from text.

    Raises
    ------
    InputError
        If the text is no angle, or stands without a unit for what may be hours or degrees.

    >>> right_ascension_deg("08h34m00s"), right_ascension_deg(360.0), right_ascension_deg("-1d")
    (128.5, 0.0, 359.0)
    """
    if isinstance(value, str):
        if COLONS.fullmatch(_plain(value)):
            raise InputError(f"{value!r} may be hours or degrees; write it as '08h34m00s' or '128d30m00s'")
        text, value = value, angle_from_text(value)
        if not -360.0 <= value <= 360.0:
            raise InputError(f"a right ascension must be in [0h, 24h] or [0, 360] degrees, got {text!r}; mend it")
    if not -360.0 <= value <= 360.0:
        return value  # out of range: the value's own check says so
    return value % 360.0 % 360.0


def angle_from_text(text: str, *, like: str = "'08h34m00s' or '-45d50m'") -> float:
    """Degrees from text such as ``-45d50m``, ``08h34m00s``, ``12.5`` (degrees) or anything astropy knows.

    Parameters
    ----------
    text : str
    like : str, optional
        Texts of the form that is wanted, told where this is none.

    Raises
    ------
    InputError
        If the text is no angle.

    >>> angle_from_text("-0d30m"), angle_from_text("1h")
    (-0.5, 15.0)
    """
    plain = _plain(text)
    if WITHOUT_UNITS.fullmatch(plain):
        return float(plain)
    match = WITH_UNITS.fullmatch(plain) or COLONS.fullmatch(plain)
    return _from_parts(text, match.groupdict()) if match else _from_astropy(text, like)


def degrees_from_text(text: str) -> float:
    """Degrees from text that is no right ascension: a declination, a position angle, a latitude.

    Raises
    ------
    InputError
        If the text is no angle, or in hours.

    >>> degrees_from_text("-45d50m")
    -45.833333333333336
    """
    if IN_HOURS.search(_plain(text)):
        raise InputError(
            f"{text[:60]!r} is in hours, as only a right ascension is; give degrees such as '-45d50m' or -45.83"
        )
    return angle_from_text(text, like="'-45d50m'")


def _plain(text: str) -> str:
    return text.strip().lower().replace("\N{MINUS SIGN}", "-")


def _from_parts(text: str, parts: dict[str, str | None]) -> float:
    minutes, seconds = float(parts["minutes"] or 0), float(parts["seconds"] or 0)
    if minutes >= 60 or seconds >= 60:
        raise InputError(f"minutes and seconds must be below 60, got {text!r}; carry them over")
    given = [part for name in ("first", "minutes", "seconds") if (part := parts[name])]
    if any(float(part) % 1 for part in given[:-1]):
        raise InputError(f"only the last part may have decimals, got {text!r}; write whole parts before it")
    size = float(parts["first"] or 0) + minutes / 60 + seconds / 3600
    turn = 15.0 if (parts.get("unit") or "d").startswith("h") else 1.0
    return math.copysign(size * turn, -1.0 if parts["sign"] == "-" else 1.0)


def _from_astropy(text: str, like: str) -> float:
    """Let astropy read what is written in a rarer form."""
    no_angle = InputError(f"{text[:60]!r} is no angle; give degrees as a number or text such as {like}")
    if len(text) > LONGEST:
        raise no_angle
    from astropy.coordinates import Angle

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            return float(Angle(text.strip()).deg)
    except Exception as error:  # many kinds, those of a parser among them: all mean that it is no angle
        raise no_angle from error

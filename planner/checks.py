"""Checks of values that a user gives: each refuses with one sentence (name, wanted, got, cure)."""

from __future__ import annotations

from collections.abc import Sequence

from .errors import InputError

__all__ = [
    "check_position",
    "check_position_angle",
    "check_positive",
    "check_title",
    "check_unique",
    "check_within",
    "require",
]

LONGEST_TITLE = 200


def require(ok: bool, text: str) -> None:
    """Raise an `InputError` with this sentence unless the condition holds."""
    if not ok:
        raise InputError(text)


def check_unique(wanted: str, names: Sequence[str], cure: str) -> None:
    """Refuse a name that is used twice."""
    twice = [name for number, name in enumerate(names) if name in names[:number]]
    require(not twice, f"{wanted}, got {twice[:1]} twice; {cure}")


def check_within(name: str, value: float | None, low: float, high: float, cure: str) -> None:
    """Refuse a value outside the closed interval [low, high], NaN included; None passes.

    >>> check_within("mosaic.rows", 0, 1, 9, "give a whole number")
    Traceback (most recent call last):
    planner.errors.InputError: mosaic.rows must be in [1, 9], got 0; give a whole number
    """
    if value is not None and not low <= value <= high:
        raise InputError(f"{name} must be in [{low:g}, {high:g}], got {value:g}; {cure}")


def check_positive(name: str, value: float | None, high: float, cure: str) -> None:
    """Refuse a value outside (0, high], NaN included; None passes."""
    if value is not None and not 0.0 < value <= high:
        raise InputError(f"{name} must be in (0, {high:g}], got {value:g}; {cure}")


def check_position_angle(name: str, value: float | None) -> None:
    """Refuse an angle outside [-360, 360] degrees; None passes."""
    check_within(name, value, -360.0, 360.0, "give degrees east of north")


def check_position(name: str, position: tuple[float, float]) -> None:
    """Refuse what is not (right ascension, declination) in degrees, [-360, 360] and [-90, 90]."""
    require(len(position) == 2, f"{name} must be right ascension and declination, got {list(position)}")
    ra_deg, dec_deg = position
    check_within(f"{name}'s right ascension", ra_deg, -360.0, 360.0, "give degrees, or hours as '08h34m00s'")
    check_within(
        f"{name}'s declination", dec_deg, -90.0, 90.0, "right ascension comes first, then declination"
    )


def check_title(title: str) -> None:
    """Refuse a title that is empty, long or not one line of plain text."""
    require(bool(title.strip()), "title must not be empty; give the plan a name")
    require(
        len(title) <= LONGEST_TITLE,
        f"title must have at most {LONGEST_TITLE} characters, got {len(title)}; shorten it",
    )
    plain = all(sign.isprintable() for sign in title)
    require(plain, f"title must be one line of plain text, got {title!r}; leave control characters out")

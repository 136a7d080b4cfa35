"""What scripts give that is neither number nor quantity: dates and paths, with one sentence where they are none."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from planner.errors import InputError

__all__ = ["checked_date", "checked_path"]


def checked_date(name: str, value: Any) -> dt.date | None:
    """Return an evening's date; None stays None.

    Raises
    ------
    InputError
        If it is no date, or an instant.
    """
    if value is None or (isinstance(value, dt.date) and not isinstance(value, dt.datetime)):
        return value
    raise InputError(f"{name} must be a date, such as datetime.date(2027, 1, 8), got {value!r}; give one")


def checked_path(name: str, value: Any) -> Path:
    """Return a path.

    Raises
    ------
    InputError
        If it is neither text nor a path.
    """
    if isinstance(value, str | Path):
        return Path(value)
    raise InputError(f"{name} must be a path, as text or pathlib.Path, got {value!r}; give one")

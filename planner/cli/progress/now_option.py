"""`--now`: the evening or the instant as of which something is told."""

from __future__ import annotations

import datetime as dt

import click

from planner.cli._show import Command
from planner.errors import InputError

__all__ = ["Moment", "clock", "moment", "now_option"]

Moment = dt.date | dt.datetime
"""An evening at the site, or an instant with its time zone."""


def now_option(command: Command) -> Command:
    """Add ``--now TIME``; the verb takes it as `now`."""
    about = "Tell it as of this evening (2027-02-01, site time) or instant (2027-02-01T18:00Z); default: the clock."
    return click.option("--now", metavar="TIME", help=about)(command)


def clock() -> dt.datetime:
    """Return the present instant."""
    return dt.datetime.now(dt.UTC)


def moment(text: str | None) -> Moment:
    """Return the evening or the instant that a text names, without a text the clock's; UTC where it has no zone.

    Raises
    ------
    InputError
        If it is neither.

    >>> moment("2027-02-01"), moment("2027-02-01T18:00Z")
    (datetime.date(2027, 2, 1), datetime.datetime(2027, 2, 1, 18, 0, tzinfo=datetime.timezone.utc))
    """
    if text is None:
        return clock()
    try:
        if len(text) == len("2027-02-01"):
            return dt.date.fromisoformat(text)
        instant = dt.datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"--now must be a date or a time as ISO 8601 has them, got {text!r}; "
            "give 2027-02-01 or 2027-02-01T18:00Z"
        ) from None
    return instant if instant.tzinfo else instant.replace(tzinfo=dt.UTC)

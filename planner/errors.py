"""The errors that a user can meet.

::

    PlannerError             one clear sentence; the command line and the app show it as it is
    └── InputError           bad input or bad use: exit code 2, nothing has been written
        ├── FileError        a file that cannot be read, written or understood
        └── UnknownObjectError   a name that the catalogues do not have
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from planner.exit_codes import BAD_INPUT

__all__ = [
    "FileError",
    "InputError",
    "PlannerError",
    "SearchStopped",
    "UnknownObjectError",
    "nearest_names",
    "told_of_failed_start",
]

NEW_NAMES = {
    "turns": "angles",
    "frame": "earlier_picture",
    "readings_deg": "reading_deg",
    "through_pole": "looking",
    "pointing_state": "looking",
    "reading_through_pole": "reading",
    "reading_normal": "reading",
}
"""Names that an earlier version knew, to what they are called now."""


class PlannerError(Exception):
    """Base of all errors that are shown to the user as one sentence."""


class InputError(PlannerError, ValueError):
    """A value that the planner cannot work with: text = name, wanted, got, cure."""


class FileError(InputError):
    """A file that cannot be read, written or understood."""


class UnknownObjectError(InputError):
    """The catalogues have no object of a name; `what` says so without a cure, which depends on who asks."""

    def __init__(self, what: str, cure: str) -> None:
        asks = what.endswith("?")
        super().__init__(f"{what} {cure[0].upper()}{cure[1:]}" if asks else f"{what}; {cure}")
        self.what = what


class SearchStopped(Exception):
    """Raised by whoever is told of a search's progress: the search ends with the best plan so far."""


def nearest_names(name: str, known: Iterable[str], *, count: int = 3) -> str:
    """Return a hint such as ``; did you mean 'overlap'?`` or an empty string.

    A name of an earlier version leads to the one that took its place.

    >>> nearest_names("overlp", ["overlap", "layout"])
    "; did you mean 'overlap'?"
    >>> nearest_names("turns", ["angles", "turns_allowed"])
    "; did you mean 'angles'?"
    """
    import difflib

    known = list(known)
    new = NEW_NAMES.get(name)
    close = [new] if new in known else difflib.get_close_matches(name, known, n=count, cutoff=0.6)
    return f"; did you mean {' or '.join(repr(text) for text in close)}?" if close else ""


@contextmanager
def told_of_failed_start(*, as_program: bool | None = None) -> Iterator[None]:
    """End `python -m planner` with one sentence where a package is not installed.

    A program that imports the planner gets Python's own error.

    Parameters
    ----------
    as_program : bool, optional
        Whether the planner runs as a program; left out, Python's own mark of one that starts (``-m``) tells.
    """
    ours = sys.argv[:1] == ["-m"] if as_program is None else as_program
    try:
        yield
    except ModuleNotFoundError as error:
        if not ours or (error.name or "planner").startswith("planner"):
            raise
        print(
            f"planner: the package {error.name} is not installed for this Python, {sys.executable}; activate the "
            "environment of the planner, or install with pip install -r requirements.txt",
            file=sys.stderr,
        )
        sys.exit(BAD_INPUT)

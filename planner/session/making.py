"""Something that is made behind the page, once: its progress, and what came of it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

from planner.errors import PlannerError
from planner.progress import Progress

__all__ = ["GivenUp", "Making", "Work"]

Made = TypeVar("Made")


class GivenUp(Exception):
    """Raised inside work that nobody waits for."""


class Work(threading.Thread):
    """A work in a thread of its own, which can be given up.

    Parameters
    ----------
    key : object
        What the work depends on.
    work : callable
        Called with a report of progress.
    """

    def __init__(self, key: object, work: Callable[[Progress], object]) -> None:
        super().__init__(daemon=True)
        self.key, self.progress, self.given_up = key, ("", 0.0), threading.Event()
        self._work = work

    def give_up(self) -> None:
        """Stop at the next report of progress."""
        self.given_up.set()

    def _report(self, what: str, share: float) -> None:
        if self.given_up.is_set():
            raise GivenUp
        self.progress = (what, share)


class Making(Work, Generic[Made]):
    """A work that begins at once, and what it returns."""

    def __init__(self, key: object, work: Callable[[Progress], Made]) -> None:
        super().__init__(key, work)
        self._make = work
        self._made: Made
        self._error: Exception | None = None
        self.start()

    def run(self) -> None:
        """Do the work; what goes wrong is kept for `made`."""
        try:
            self._made = self._make(self._report)
        except GivenUp:
            self._error = PlannerError("this was given up for another one")
        except Exception as error:  # raised again where it is asked for
            self._error = error

    @property
    def made(self) -> Made:
        """What was made, waiting for it.

        Raises
        ------
        PlannerError
            If it cannot be made.
        """
        self.join()
        if self._error is not None:
            raise self._error
        return self._made

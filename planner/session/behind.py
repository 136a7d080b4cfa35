"""Work behind the page, which is given up when nobody waits for it any more."""

from __future__ import annotations

import contextlib
from collections.abc import Callable

from planner.errors import PlannerError
from planner.progress import Progress

from .making import GivenUp, Work

__all__ = ["Behind"]

QUIET_S = 0.8
"""Work is begun only when the hand has rested for so long."""


class Behind:
    """One work at a time; another one takes its place."""

    def __init__(self) -> None:
        self._task: _Task | None = None

    def begin(self, key: object, work: Callable[[Progress], object]) -> None:
        """Begin a work in the place of another one; what is going on already goes on.

        Parameters
        ----------
        key : object
            Names the work.
        work : callable
            Called with a report of progress, at which it can be given up.
        """
        if self._task is not None and self._task.goes_on(key):
            return
        self.rest()
        self._task = _Task(key, work)
        self._task.start()

    def rest(self) -> None:
        """Give up what is going on."""
        if self._task is not None:
            self._task.give_up()

    @property
    def progress(self) -> tuple[str, float]:
        """What is being done, and the share of it that is done."""
        return self._task.progress if self._task is not None else ("", 0.0)


class _Task(Work):
    def goes_on(self, key: object) -> bool:
        return self.key == key and self.is_alive() and not self.given_up.is_set()

    def run(self) -> None:
        if self.given_up.wait(QUIET_S):
            return
        with contextlib.suppress(GivenUp, PlannerError):
            self._work(self._report)

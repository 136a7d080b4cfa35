"""Answers by value: whoever asks the same again, or at the same time, gets what was computed once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any
from weakref import WeakValueDictionary

from planner.errors import PlannerError

__all__ = ["Shelf"]


class Shelf:
    """What was computed last, refusals among it; for several threads at once.

    Parameters
    ----------
    most : int
        What is kept weighs at most so much together; the last one is always kept.
    weigh : callable
        Weight of a value.

    >>> shelf = Shelf()
    >>> shelf.made("a key", lambda: 1), shelf.made("a key", lambda: 2), "other key" in shelf
    (1, 1, False)
    """

    def __init__(self, most: int = 128, weigh: Callable[[Any], int] = lambda value: 1) -> None:
        self._most, self._weigh = most, weigh
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = threading.Lock()
        self._making: WeakValueDictionary[Hashable, Any] = WeakValueDictionary()

    def __contains__(self, key: Hashable) -> bool:
        with self._lock:
            return key in self._kept

    def kept(self, key: Hashable) -> Any:
        """Return what is kept, None if nothing is.

        Raises
        ------
        PlannerError
            If it was refused.
        """
        with self._lock:
            found = self._kept.get(key)
        if isinstance(found, PlannerError):
            raise found
        return found

    def made(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """Return what is kept; what is not is made, or waited for where somebody is making it.

        Raises
        ------
        PlannerError
            If it is refused.
        """
        with self._lock:
            making = self._making.setdefault(key, threading.Lock())
        with making:
            if key not in self:
                self._put(key, _made_or_refused(make))
            return self.kept(key)

    def _put(self, key: Hashable, value: object) -> None:
        with self._lock:
            self._kept[key] = value
            room = self._most - sum(map(self._weigh, self._kept.values()))
            while room < 0 and len(self._kept) > 1:
                room += self._weigh(self._kept.popitem(last=False)[1])


def _made_or_refused(make: Callable[[], Any]) -> Any:
    try:
        return make()
    except PlannerError as error:
        return error

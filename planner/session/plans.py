"""Plans, computed once per request: a quick one at once, the usual one behind, shown when it comes."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from planner.errors import PlannerError
from planner.request import Request

if TYPE_CHECKING:
    from planner.plan import Plan

__all__ = ["Answer", "PlanDesk", "is_searched"]

MOST_KEPT = 64
QUIET_S = 0.8
"""The better plan is begun only when the hand has rested for so long."""

Maker = Callable[..., Any]


@dataclass(frozen=True)
class Answer:
    """What is known of a request now.

    Parameters
    ----------
    plan : Plan
    final : bool
        Whether this is the plan that the command line makes.
    """

    plan: Plan
    final: bool


class _Superseded(Exception):
    """Raised inside a computation whose answer nobody waits for any more."""


class PlanDesk:
    """Plans by value of the request; one better plan at a time is made behind.

    Parameters
    ----------
    make : callable, optional
        `planner.plan.make_plan`, or what stands in for it in a test.
    """

    def __init__(self, make: Maker | None = None) -> None:
        self._make = make
        self._done: OrderedDict[tuple[Any, str], Plan | PlannerError] = OrderedDict()
        self._lock = threading.Lock()
        self._task: _Task | None = None

    def answer(self, request: Request) -> Answer:
        """Return the best plan at hand, computing the quick one if there is none.

        Raises
        ------
        PlannerError
            If the request cannot be planned.
        """
        final = self._kept(request, "usual")
        if final is not None:
            return Answer(final, True)
        quick = self._kept(request, "quick")
        if quick is not None:
            return Answer(quick, False)
        self.rest()
        searched = is_searched(request)
        return Answer(self._compute(request, "quick" if searched else "usual"), not searched)

    def final(self, request: Request) -> Plan:
        """Return the plan that the command line makes, waiting for it.

        Raises
        ------
        PlannerError
            If the request cannot be planned.
        """
        return self._kept(request, "usual") or self._compute(request, "usual")

    def improve(self, request: Request) -> None:
        """Begin the usual plan behind, in the place of an earlier request's."""
        key = _key(request)
        if self._task is not None and self._task.key == key and self._task.is_alive():
            return
        self.rest()
        self._task = _Task(key, lambda progress: self._compute(request, "usual", progress))
        self._task.start()

    def rest(self) -> None:
        """Give up what is being made behind."""
        if self._task is not None:
            self._task.stopped.set()

    def ready(self, request: Request) -> bool:
        """Whether the usual plan of a request, or its refusal, is at hand."""
        return (_key(request), "usual") in self._done

    def _maker(self) -> Maker:
        if self._make is not None:
            return self._make
        from planner.plan import make_plan

        maker: Maker = make_plan
        return maker

    def _kept(self, request: Request, effort: str) -> Plan | None:
        key = _key(request), effort
        with self._lock:
            found = self._done.get(key)
            if isinstance(found, PlannerError):
                raise found
            if found is not None and found.request != request:
                found = self._done[key] = replace(found, request=request)
        return found

    def _compute(self, request: Request, effort: str, progress: Callable[..., None] | None = None) -> Plan:
        try:
            plan: Plan | PlannerError = self._maker()(request, effort=effort, progress=progress)
        except PlannerError as error:
            plan = error
        with self._lock:
            self._done[_key(request), effort] = plan
            while len(self._done) > MOST_KEPT:
                self._done.popitem(last=False)
        if isinstance(plan, PlannerError):
            raise plan
        return plan


def is_searched(request: Request) -> bool:
    """Whether effort makes a difference: the angle or the panels' places are left to the search."""
    asked = request.mosaic
    if request.panels:
        return False
    return asked.position_angle_deg is None or (asked.layout == "free" and asked.columns is None)


class _Task(threading.Thread):
    """One computation behind, which can be given up at every report of progress."""

    def __init__(self, key: Any, compute: Callable[[Callable[..., None]], Any]) -> None:
        super().__init__(daemon=True)
        self.key, self.compute, self.stopped = key, compute, threading.Event()

    def run(self) -> None:
        if self.stopped.wait(QUIET_S):
            return
        try:
            self.compute(self._report)
        except (_Superseded, PlannerError):
            return

    def _report(self, *_: Any, **__: Any) -> None:
        if self.stopped.is_set():
            raise _Superseded


def _key(request: Request) -> Any:
    """Return what a plan depends on: not the title, the nights, the filters or where the file stands."""
    listed = tuple((one.name, one.ra_deg, one.dec_deg, one.position_angle_deg) for one in request.panels)
    bare = replace(
        request,
        title="plan",
        panels=(),
        sites=(),
        nights=None,
        filters=(),
        tables=(),
        path=None,
        setup_path=None,
    )
    return bare, listed

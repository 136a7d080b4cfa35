"""A browser tab's plan, and what the canvas asks of it. Knows no screen."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from weakref import WeakValueDictionary

from planner.draw.canvas.scene import scene_data
from planner.errors import PlannerError
from planner.regions import find_region

from .curves import CurveDesk
from .plans import SHARED, PlanDesk
from .session import Session

if TYPE_CHECKING:
    from planner.plan import Plan

__all__ = ["LIVE", "Tab"]

LIVE: WeakValueDictionary[str, Tab] = WeakValueDictionary()
"""Tabs by the ids of their sessions, which nobody else knows."""


class Tab:
    """The plan being composed in a tab, and where its plans and curves come from.

    Parameters
    ----------
    session : Session
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.desk = PlanDesk(shelf=SHARED)
        self.curves = CurveDesk()
        self.seen: Plan | None = None
        """The plan that the sky shows: while there is none for the present request, the last one."""
        self._scene: tuple[Plan, dict[str, Any]] | None = None
        self._lock = threading.Lock()
        LIVE[session.id] = self

    def show(self, session: Session) -> None:
        """Put another plan in the place of this one; the canvas goes on with the same clock."""
        before = self.session
        session.id, session.revision = before.id, before.revision + 1
        session.look = replace(session.look, number=before.look.number + 1)
        session.said = "Opened."
        self.session, self.seen = session, None

    def take(self, messages: Sequence[Mapping[str, Any]]) -> None:
        """Take over gestures of the canvas, in turn."""
        self.curves.rest()
        with self._lock:
            for message in messages:
                self.session.gesture(self.seen, message)

    def foresee(self, message: Mapping[str, Any]) -> None:
        """Work out the plan that a gesture would lead to if it ended now, so that it is at hand."""
        request = self.session.foreseen(self.seen, message) if self.seen else None
        if request is not None:
            with contextlib.suppress(PlannerError):
                self.desk.answer(request)

    def look(self) -> Plan | None:
        """Return the plan that the sky shows now."""
        with contextlib.suppress(
            PlannerError
        ):  # the sentence stands beside; the sky keeps the last good plan
            self.seen = self.desk.answer(self.session.request).plan
        return self.seen

    def sky(self) -> dict[str, Any]:
        """Return what the canvas shows of the plan, made anew only for another one, and where its clock stands."""
        plan, now = self.look(), self.session
        clock = {
            "rev": now.revision,
            "sid": now.id,
            "said": now.said,
            "can_undo": bool(now.history.past),
            "can_redo": bool(now.history.future),
        }
        return clock if plan is None else self._scene_of(plan) | clock

    def _scene_of(self, plan: Plan) -> dict[str, Any]:
        if self._scene is None or self._scene[0] is not plan:
            bare = find_region(replace(plan.request.region, margin_arcmin=0.0)).region
            self._scene = plan, scene_data(plan, bare)
        return self._scene[1]

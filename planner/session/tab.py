"""A browser tab's plan, and what the canvas asks of it. Knows no screen."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from weakref import WeakValueDictionary

from planner.answers.find_region import find_region
from planner.errors import PlannerError
from planner.request.request import Request

from .curves import CurveDesk
from .plans import SHARED, PlanDesk
from .scene import scene_data
from .session import Session
from .sharing.layouts import Beside, Pictured, requests_beside
from .unsaved import Kept, kept_texts
from .uploads import Uploads

if TYPE_CHECKING:
    from planner.answers.plan import Draft
    from planner.night.timetable import Goal

__all__ = ["LIVE", "Tab", "forget_closed"]

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
        self.uploads = Uploads()
        self.goal: Goal = "soonest"
        """What timetables are arranged for, on all pages."""
        self.is_open: Callable[[], bool] = lambda: True
        """Whether a browser shows it."""
        self.made: dict[str, Any] = {}
        """What pages made, by the names that they give it: reviews, timetables, made-up frames."""
        self.closed_since: float | None = None
        """Seconds of the steady clock."""
        self._before = ""
        self._chosen_before: tuple[Path, str] | None = None
        """The plan file that the same browser tab had before, and the instrument that was chosen there."""
        self.chosen_again = ""
        """The instrument that was chosen anew for it; empty where none was."""
        self.seen: Draft | None = None
        """The plan, or its draft, that the sky shows: while there is none for the present request, the last one."""
        self._scene: tuple[Draft, dict[str, Any]] | None = None
        self._beside = Beside()
        self.pictured = Pictured()
        self._shown_beside: dict[str, Any] = {"shows": "", "left": [], "beside": []}
        self._lock = threading.Lock()
        LIVE[session.id] = self

    def show(self, session: Session) -> None:
        """Put another plan in the place of this one; the canvas goes on with the same clock."""
        before = self.session
        session.id, session.revision, session.taken = before.id, before.revision + 1, before.taken
        session.look = replace(session.look, number=before.look.number + 1)
        session.said = "Opened."
        self.session, self.seen = session, None
        self._choose_again()

    def kept_texts(self) -> list[Kept]:
        """Return unsaved texts of this plan that no tab of this planner shows."""
        shown = {tab.session.unsaved.id for tab in list(LIVE.values()) if tab is self or tab.is_open()}
        found = kept_texts(self.session.path, shown, self._before)
        return [kept for kept in found if kept.text != self.session.history.present]

    def go_on(self, unsaved_id: str, session_id: str) -> None:
        """Take over from the session that the same browser tab had: uploads, goal, what pages made, unsaved text."""
        self._before = unsaved_id if unsaved_id.isalnum() else ""
        before = LIVE.get(session_id)
        if before is not None:
            self.uploads, self.goal, self.made = before.uploads, before.goal, before.made
            self._chosen_before = before.session.path, before.session.chosen
            self._choose_again()

    def _choose_again(self) -> None:
        """Let the pages be about the instrument that was chosen before the page was loaded anew."""
        path, name = self._chosen_before or (None, "")
        if name and path == self.session.path:
            self.session.choose(name)
            self.chosen_again, self._chosen_before = name, None

    def take_up(self, kept: Kept) -> bool:
        """Make an unsaved text the present one; undo leads back."""
        if not self.session.replace_text("open", kept.text, "The unsaved text is here again."):
            return False
        kept.let_go()
        return True

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
                self.desk.draft(request)
                self.desk.answer(request)

    def suggestions(self, text: str) -> list[dict[str, Any]]:
        """Return what a search offers while one types; see `suggestions`."""
        from .suggestions import suggestions

        with contextlib.suppress(PlannerError):
            return suggestions(text, self.session.request.camera.field)
        return []

    def look(self) -> Draft | None:
        """Return the plan that the sky shows now, measured."""
        return self._seen(lambda request: self.desk.answer(request).plan)

    def sky(self) -> dict[str, Any]:
        """Return what the canvas shows of the plan, made anew only for another one, and where its clock stands.

        A draft does where no plan is at hand: nothing is told of it but its panels, and where there is a gap.
        """
        plan, now = self._seen(self.desk.draft), self.session
        clock = {
            "rev": now.revision,
            "sid": now.id,
            "said": now.said,
            "can_undo": bool(now.history.past),
            "can_redo": bool(now.history.future),
        }
        return clock if plan is None else self._scene_of(plan) | self._beside_of(plan) | clock

    def _beside_of(self, plan: Draft) -> dict[str, Any]:
        """Layouts of other instruments that share the mosaic; those seen last where the text has faults."""
        with contextlib.suppress(PlannerError):
            now = self.session
            self._shown_beside = self._beside.data(now.shared, now.instrument, plan, self.desk.draft)
        return self._shown_beside

    def beside(self) -> list[Request]:
        """Return what is asked of the instruments whose layouts stand beside the one that is shown."""
        with contextlib.suppress(PlannerError):
            now = self.session
            if now.shared is not None and now.instrument is not None and self.seen is not None:
                found = requests_beside(now.shared, now.instrument, self.seen.picture)
                return [request for _, request in found]
        return []

    def _seen(self, find: Callable[[Request], Draft]) -> Draft | None:
        """Return what is found for the present request, or what was seen last where it cannot be planned."""
        with contextlib.suppress(PlannerError):  # the sentence stands beside
            now = self.session
            self.seen = self.pictured.with_picture(now.shared, find(now.request), self.desk.draft)
        return self.seen

    def _scene_of(self, plan: Draft) -> dict[str, Any]:
        if self._scene is None or self._scene[0] is not plan:
            bare = find_region(replace(plan.request.region, margin_arcmin=0.0)).region
            self._scene = plan, scene_data(plan, bare)
        return self._scene[1]


def forget_closed(seconds: float) -> None:
    """Take away the uploads of tabs that no browser has shown for so long."""
    now, tabs = time.monotonic(), list(LIVE.values())
    used = {id(tab.uploads) for tab in tabs if tab.is_open()}
    for tab in tabs:
        if tab.is_open():
            tab.closed_since = None
        elif tab.closed_since is None:
            tab.closed_since = now
        if tab.closed_since is not None and now - tab.closed_since >= seconds and id(tab.uploads) not in used:
            tab.uploads.forget()

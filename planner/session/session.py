"""The one plan of a session: the plan file's text, and everything that changes it. Knows no screen."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import FileError, PlannerError
from planner.files.plan_file.read import request_from_text
from planner.files.plan_file.shared import one_request_from_text, request_of, sharing_from_text
from planner.files.text_file import read_text
from planner.request.request import Request
from planner.request.shared import Instrument, SharedRequest
from planner.words import listed

from .edits import changed_keys, edited_text
from .gestures import added_edits, gesture_edits, region_edits
from .history import History
from .sharing.own_edits import own_edits
from .unsaved import Unsaved

if TYPE_CHECKING:
    from planner.answers.plan import Draft

__all__ = ["Look", "Session", "chosen_of"]

NAMED = 3
"""Keys of the plan file that undo names; of more it tells how many."""


@dataclass(frozen=True)
class Look:
    """Where Python sends the view: at everything, or at a position; each wish has its own number."""

    number: int = 1
    center_deg: tuple[float, float] | None = None
    half_deg: float | None = None


@dataclass
class Session:
    """A plan being composed.

    Parameters
    ----------
    text : str
        Of the plan file.
    path : Path
        Where the plan file stands, or would stand: names in it are relative to this.
    own : bool
        Whether saving may replace the file at `path` (not so for samples and uploads).
    """

    text: str
    path: Path
    own: bool = False
    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    revision: int = 0
    taken: int = 0
    """Of the last gesture that was taken over."""
    look: Look = Look()
    faults: dict[str, str] = field(default_factory=dict)
    """Sentences by the place where they can be mended."""
    picked: str = ""
    """Name of the object that was last clicked."""
    said: str = ""
    """What a screen reader is told after the last change."""
    chosen: str = ""
    """Name of the instrument that the pages are about, where several share the mosaic; empty for the finest."""

    def __post_init__(self) -> None:
        self.history = History(self.text)
        self.saved_text = self.text
        self.unsaved = Unsaved(self.path, self.own)
        self.told_missing: Path | None = None
        """The plan file of which it was said that it is not there any more."""
        self._read: tuple[str, Request | None, SharedRequest | None] | None = None
        self._of: tuple[Instrument, Request] | None = None

    @classmethod
    def open(cls, path: Path, *, own: bool = True) -> Session:
        """Open a plan file.

        Raises
        ------
        FileError
            If it cannot be read or has faults.
        """
        session = cls(read_text(path, "plan file"), path, own)
        session.request  # noqa: B018  (reads it now, so that faults show at once)
        return session

    @property
    def request(self) -> Request:
        """What the plan file says, of the instrument that the pages are about; read once per text."""
        alone, shared = self._said()
        if shared is None:
            assert alone is not None
            return alone
        one = chosen_of(shared, self.chosen)
        if self._of is None or self._of[0] is not one:
            self._of = one, request_of(shared, one)
        return self._of[1]

    @property
    def shared(self) -> SharedRequest | None:
        """What the plan file says of all instruments that share the mosaic; None where one has it alone."""
        return self._said()[1]

    @property
    def instrument(self) -> Instrument | None:
        """The instrument that the pages are about; None where one has the mosaic alone."""
        return None if self.shared is None else chosen_of(self.shared, self.chosen)

    def choose(self, name: str) -> None:
        """Let the pages be about another of the instruments that share the mosaic."""
        self.chosen, self.revision = name, self.revision + 1
        self.said = f"The pages are about {name} now."

    def _said(self) -> tuple[Request | None, SharedRequest | None]:
        """The request of a plan of one instrument, or what several share."""
        text = self.history.present
        if self._read is None or self._read[0] != text:
            shared = sharing_from_text(text, path=self.path)
            alone = request_from_text(text, path=self.path) if shared is None else None
            self._read = text, alone, shared
        return self._read[1:]

    @property
    def changed(self) -> bool:
        """Whether there is something to save."""
        return self.history.present != self.saved_text

    def edit(self, place: str, edits: Mapping[str, Any], said: str = "") -> bool:
        """Change keys of the plan file; a change that makes no valid plan file is refused.

        Parameters
        ----------
        place : str
            Where the sentence is shown if it is refused.
        edits : mapping
            See `edited_text`.
        said : str
            For a screen reader.

        Returns
        -------
        bool
            Whether the change was taken.
        """
        try:
            return self.replace_text(place, self.edited(edits), said)
        except PlannerError as error:
            return self._refuse(place, error)

    def edited(self, edits: Mapping[str, Any]) -> str:
        """Return the plan file's text with keys changed, as the instrument that pages are about has them."""
        text, shared, one = self.history.present, self.shared, self.instrument
        if shared is not None and one is not None:
            edits = own_edits(text, edits, shared, one)
        return edited_text(text, edits, self._setup_text())

    def replace_text(self, place: str, text: str, said: str = "") -> bool:
        """Put another text in the place of the plan file's, if it is valid; earlier refusals are told no more."""
        self.faults.pop(place, None)
        try:
            one_request_from_text(text, path=self.path)
        except PlannerError as error:
            return self._refuse(place, error)
        if text != self.history.present:
            self.faults.clear()
        self._go_to(self.history.then(text))
        self.said = said
        self.revision += 1
        return True

    def gesture(self, plan: Draft | None, message: Mapping[str, Any] | None) -> bool:
        """Take over a gesture of the canvas, if it is newer than what is known and meant for this session.

        A picture that was moved before the canvas knew of a change is the one from before that change; undo, redo
        and a click on an object mean the same whatever the canvas knows.
        """
        if not message or message.get("sid") != self.id:
            return False
        revision = message["rev"]
        if revision <= (self.taken if message["kind"] in ("undo", "redo", "pick") else self.revision):
            return False
        if message["kind"] in ("undo", "redo"):
            self.step(message["kind"])
        elif message["kind"] == "pick":
            self._pick(str(message["name"]), message.get("act"))
        elif plan is not None:
            self.edit("canvas", gesture_edits(plan, message, self.request), "")
        self.taken, self.revision = revision, max(self.revision, revision)
        return True

    def _pick(self, name: str, act: str | None) -> None:
        """Remember which object was clicked; make it the region, or add it to the region, where that is asked."""
        self.picked = name
        if act == "region":
            self.edit("canvas", region_edits(object=name), f"The region is now {name}.")
        elif act == "add":
            self.edit("canvas", added_edits(self.history.present, name), f"{name} belongs to the region now.")

    def foreseen(self, plan: Draft, message: Mapping[str, Any]) -> Request | None:
        """Return the request that a gesture would lead to if it ended now; None if it would be refused."""
        try:
            text = self.edited(gesture_edits(plan, message, self.request))
            shared = sharing_from_text(text, path=self.path)
            if shared is None:
                return request_from_text(text, path=self.path)
            return request_of(shared, chosen_of(shared, self.chosen))
        except PlannerError:
            return None

    def step(self, kind: str) -> None:
        """Undo or redo."""
        before = self.history
        self._go_to(before.undone() if kind == "undo" else before.redone())
        self.faults.clear()
        self.revision += 1
        if self.history is before:
            self.said = f"Nothing to {kind}."
        else:
            keys = listed(changed_keys(before.present, self.history.present), NAMED)
            self.said = f"{'Undone' if kind == 'undo' else 'Done again'}: {keys or 'a remark'}."

    def look_at(self, center_deg: tuple[float, float] | None = None, half_deg: float | None = None) -> None:
        """Send the view to a position, or to everything."""
        self.look = Look(self.look.number + 1, center_deg, half_deg)

    def saved(self, path: Path) -> None:
        """Remember that the present text now stands at a path."""
        self.unsaved.let_go()
        self.path, self.own, self.saved_text = path, True, self.history.present
        self.unsaved, self.told_missing = Unsaved(path, True), None
        self._read = None

    def _go_to(self, history: History) -> None:
        """Let another text be the present one; what is not saved is kept on disk."""
        if history.present != self.history.present:
            if history.present == self.saved_text:
                self.unsaved.let_go()
            else:
                self.unsaved.keep(history.present)
        self.history = history

    def _refuse(self, place: str, error: PlannerError) -> bool:
        self.faults[place] = fault_text(error)
        self.revision += 1
        return False

    def _setup_text(self) -> str | None:
        try:
            setup = self.request.setup_path
        except FileError:
            return None
        return read_text(setup, "setup file") if setup else None


def chosen_of(shared: SharedRequest, name: str) -> Instrument:
    """Return the instrument of a name; the finest where there is none.

    A picture that is to be full is the finest instrument's: the others follow it and are not chosen.
    """
    picture = shared.finest.request.picture
    if picture is not None and picture.filled:
        return shared.finest
    return next((one for one in shared.instruments if one.name == name), shared.finest)


def fault_text(error: PlannerError) -> str:
    """Return the sentence of an error without the file's name, which the reader of the screen knows."""
    faults = getattr(error, "faults", None)
    return "; ".join(fault.text for fault in faults) if faults else str(error)

"""Undo and redo, as a value."""

from __future__ import annotations

from dataclasses import dataclass, replace

__all__ = ["History"]

LONGEST = 300


@dataclass(frozen=True)
class History:
    """The present text of the plan file, what it was and what it may become again.

    >>> history = History("a").then("b").then("c").undone()
    >>> history.present, history.redone().present, history.then("d").future
    ('b', 'c', ())
    """

    present: str
    past: tuple[str, ...] = ()
    future: tuple[str, ...] = ()

    def then(self, text: str) -> History:
        """Return the history after a change; one that changes nothing leaves it as it is."""
        if text == self.present:
            return self
        return History(text, (*self.past, self.present)[-LONGEST:])

    def undone(self) -> History:
        """Return the history one step back."""
        if not self.past:
            return self
        return replace(self, present=self.past[-1], past=self.past[:-1], future=(self.present, *self.future))

    def redone(self) -> History:
        """Return the history one step forward."""
        if not self.future:
            return self
        return replace(self, present=self.future[0], past=(*self.past, self.present), future=self.future[1:])

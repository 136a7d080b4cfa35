"""A box that tells how far a work is on which the page waits."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import streamlit as st

if TYPE_CHECKING:
    from streamlit.elements.lib.mutable_status_container import StatusContainer

__all__ = ["Working", "working"]


@dataclass(frozen=True)
class Working:
    """What a work tells its box."""

    box: StatusContainer

    def tell(self, what: str, share: float) -> None:
        """Say what is being done, and the share of it that is done: a `planner.progress.Progress`."""
        self.box.update(label=f"{what}, {share:.0%}")

    def done(self, words: str) -> None:
        """Say what the work came to."""
        self.box.update(label=words, state="complete")


@contextmanager
def working(what: str) -> Iterator[Working]:
    """Show a box while a work goes on.

    Parameters
    ----------
    what : str
        Said before anything else is told.
    """
    with st.status(what) as box:
        yield Working(box)

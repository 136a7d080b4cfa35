"""What the first page needs, begun while the server is still starting."""

from __future__ import annotations

import contextlib
import importlib
import threading
from pathlib import Path

from planner.errors import PlannerError

from .opening import first_session
from .plans import SHARED, PlanDesk

__all__ = ["begin_warm_up", "warm_up"]


LIBRARIES = ("pandas",)
"""What the framework loads, in a third of a second, for the first page that it shows."""


def begin_warm_up(path: Path | None) -> None:
    """Warm up behind."""
    threading.Thread(target=_warm_up_all, args=(path,), daemon=True).start()


def _warm_up_all(path: Path | None) -> None:
    warm_up(path)
    for name in LIBRARIES:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)


def warm_up(path: Path | None) -> None:
    """Make the first plan that will be shown, with the stars about it: whoever asks for them finds them made."""
    from .scene import Cap, backdrop_data

    try:
        plan = PlanDesk(shelf=SHARED).answer(first_session(path).request).plan
        backdrop_data(Cap.of_plan(plan))
    except PlannerError:
        return  # the page says why

"""What the first page needs, begun while the server is still starting."""

from __future__ import annotations

import threading
from pathlib import Path

from planner.errors import PlannerError

from .opening import first_session
from .plans import SHARED, PlanDesk

__all__ = ["begin_warm_up", "warm_up"]


def begin_warm_up(path: Path | None) -> None:
    """Warm up behind."""
    threading.Thread(target=warm_up, args=(path,), daemon=True).start()


def warm_up(path: Path | None) -> None:
    """Make the first plan that will be shown, with the stars about it: whoever asks for them finds them made."""
    from planner.draw.canvas.scene import Cap, backdrop_data

    try:
        plan = PlanDesk(shelf=SHARED).answer(first_session(path).request).plan
        backdrop_data(Cap.of_plan(plan))
    except PlannerError:
        return  # the page says why

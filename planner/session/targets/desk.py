"""Lists of targets, made behind the page once for a setup and a season."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

from planner.progress import Progress
from planner.request.request import Request, Setup
from planner.session.making import Making

if TYPE_CHECKING:
    from planner.answers.targets.target import TargetList

__all__ = ["TARGETS", "TargetDesk", "setup_of"]

MOST_KEPT = 4
"""Lists of a year and the whole sky take some ten megabytes."""


def setup_of(request: Request) -> Setup:
    """Return the equipment, site and season of a plan: all that a list of targets depends on."""
    return Setup(
        camera=request.camera,
        angle_device=request.angle_device,
        mount=request.mount,
        sites=request.sites,
        nights=request.nights,
        filters=request.filters,
    )


class TargetDesk:
    """Lists of targets by value of what they depend on, for all tabs; each is made once."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Setup, Making[TargetList]] = OrderedDict()
        self._lock = threading.Lock()

    def making(self, request: Request) -> Making[TargetList]:
        """Return the list of a plan's setup as it is being made, or was made; it begins at once."""
        setup = setup_of(request)
        with self._lock:
            found = self._kept.get(setup)
            if found is None:
                found = self._kept[setup] = Making(setup, lambda report: _found(setup, report))
            self._kept.move_to_end(setup)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)[1].give_up()
        return found


def _found(setup: Setup, report: Progress) -> TargetList:
    from planner.answers.targets.find import find_targets
    from planner.answers.targets.wish import TargetWish

    return find_targets(setup, wish=TargetWish(), progress=report)


TARGETS = TargetDesk()
"""The one that all tabs share."""

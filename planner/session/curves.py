"""Panel count against camera angle: estimates at once, planned angles behind."""

from __future__ import annotations

import contextlib
from collections import OrderedDict
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import PlannerError
from planner.progress import Progress
from planner.request.request import Request

from .behind import Behind

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.answers.which_angle.curve import AngleCurve

__all__ = ["CurveDesk"]

MOST_KEPT = 16


class _Enough(Exception):
    """Raised to leave a curve at its estimates."""


class CurveDesk:
    """Curves by value of what they depend on; one at a time grows behind."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], AngleCurve] = OrderedDict()
        self._behind = Behind()

    def curve(self, request: Request) -> AngleCurve:
        """Return the curve as far as it is known: at the least estimates from rows, at once.

        Raises
        ------
        InputError
            If the region cannot be found or planned, or the request lists its panels.
        """
        key = _key(request)
        if key not in self._kept:
            self._keep(key, _estimates(request))
        return self._kept[key]

    def refine(self, request: Request) -> None:
        """Plan angles behind, one by one, until the curve is done."""
        if self.curve(request).waiting:
            self._behind.begin(_key(request), lambda report: self._grow(request, report))

    def learn(self, request: Request, plan: Plan) -> None:
        """Take a plan of a pinned angle into a curve that is done; one that falls short is left out."""
        angle, curve = request.mosaic.position_angle_deg, self.curve(request)
        if angle is not None and not curve.waiting and not plan.shortfalls:
            mosaic = plan.mosaic
            self._keep(_key(request), curve.with_plan(angle, len(mosaic.panels), float(mosaic.overlap_found)))

    def rest(self) -> None:
        """Give up planning behind."""
        self._behind.rest()

    def _grow(self, request: Request, report: Progress) -> None:
        from planner.answers.which_angle.grow_curve import angle_curve

        key = _key(request)

        def partial(curve: AngleCurve) -> None:
            if _planned(curve) > _planned(self._kept[key]):
                self._keep(key, curve)

        try:
            self._keep(key, angle_curve(request, as_planned=False, progress=report, partial=partial))
        except PlannerError:  # nothing can be planned at any angle: the estimates are what there is
            self._keep(key, replace(self._kept[key], waiting=0))

    def _keep(self, key: tuple[object, ...], curve: AngleCurve) -> None:
        self._kept[key] = curve
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)


def _estimates(request: Request) -> AngleCurve:
    from planner.answers.which_angle.grow_curve import angle_curve

    found: list[AngleCurve] = []

    def first(curve: AngleCurve) -> None:
        found.append(curve)
        raise _Enough

    with contextlib.suppress(_Enough):
        found.append(angle_curve(request, as_planned=False, partial=first))
    return found[0]


def _planned(curve: AngleCurve) -> int:
    return sum(one.proven for one in curve.angles)


def _key(request: Request) -> tuple[object, ...]:
    """Return what a curve depends on: the angle that is pinned now does not count."""
    mosaic = replace(request.mosaic, position_angle_deg=None)
    return request.region, request.camera, mosaic

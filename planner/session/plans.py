"""Plans, computed once per request: a draft and rows at once, the search's plans behind, shown when they come."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from planner.answers.in_rows import in_rows
from planner.errors import PlannerError
from planner.progress import Progress
from planner.request.request import Request

from .behind import Behind
from .shelf import Shelf

if TYPE_CHECKING:
    from planner.answers.plan import Draft, Plan

__all__ = ["SHARED", "Answer", "PlanDesk", "is_searched"]

MOST_PANELS = 100_000
"""Of all plans that are kept."""
LEAST_WEIGHT = 500
"""A plan counts as so many panels at the least."""
MOST_MINE = 8
"""Plans under this tab's own titles and nights that are at hand: of the instruments that share a mosaic."""
STAGES = ("usual", "quick", "rows")
"""The best first. Below them is the draft, which only the sky shows."""
DRAFT = "draft"


def _weight(plan: object) -> int:
    """Panels of a plan; a refusal has none."""
    return max(LEAST_WEIGHT, len(plan.mosaic.panels) if hasattr(plan, "mosaic") else 0)


SHARED = Shelf(MOST_PANELS, _weight)
"""Of all tabs: a page that is opened anew finds its plan made."""
Maker = Callable[..., Any]


@dataclass(frozen=True)
class Answer:
    """What is known of a request now.

    Parameters
    ----------
    plan : Plan
    stage : {'usual', 'quick', 'rows'}
        The plan that the command line makes; one of a short search; panels in rows, before any search.
    """

    plan: Plan
    stage: str

    @property
    def final(self) -> bool:
        """Whether this is the plan that the command line makes."""
        return self.stage == "usual"


class PlanDesk:
    """Plans by value of the request; one better plan at a time is made behind.

    Parameters
    ----------
    make : callable, optional
        `planner.answers.plan.make_plan`, or what stands in for it in a test.
    shelf : Shelf, optional
        Where plans are kept.
    """

    def __init__(self, make: Maker | None = None, shelf: Shelf | None = None) -> None:
        self._make = make
        self._shelf = Shelf() if shelf is None else shelf
        self._behind = Behind()
        self._mine: dict[tuple[int, str], tuple[Plan, Plan]] = {}

    def answer(self, request: Request) -> Answer:
        """Return the best plan at hand; if there is none, one of rows is made where a search would take long.

        Raises
        ------
        PlannerError
            If the request cannot be planned.
        """
        stage = self.stage(request)
        if stage is None:
            self.rest()
            stage = _first_stage(request)
        if stage == "rows":
            try:
                return Answer(self._plan(request, "rows"), "rows")
            except PlannerError:
                stage = "quick"
        return Answer(self._plan(request, stage), stage)

    def draft(self, request: Request) -> Draft:
        """Return the best plan at hand; if there is none, the draft of the one that `answer` makes, sooner.

        Raises
        ------
        PlannerError
            If the request cannot be planned.
        """
        if self.stage(request) is None:
            self.rest()
            with contextlib.suppress(PlannerError):  # a search may find what rows do not
                found: Draft = self._known(request, DRAFT)
                return found
        return self.answer(request).plan

    def stage(self, request: Request) -> str | None:
        """Return what is at hand for a request: the name of the best plan or refusal, None for nothing."""
        key = _key(request)
        return next((stage for stage in STAGES if (key, stage) in self._shelf), None)

    def final(self, request: Request) -> Plan:
        """Return the plan that the command line makes, waiting for it.

        Raises
        ------
        PlannerError
            If the request cannot be planned.
        """
        return self._plan(request, "usual")

    def improve(self, request: Request) -> None:
        """Begin the plans of a short search and of the usual one behind, in the place of an earlier request's."""
        self._behind.begin(_key(request), lambda report: self._search(request, report))

    def rest(self) -> None:
        """Give up what is being made behind."""
        self._behind.rest()

    @property
    def progress(self) -> tuple[str, float]:
        """What is being made behind, and the share of it that is done."""
        return self._behind.progress

    def _search(self, request: Request, report: Progress) -> None:
        for stage in ("quick", "usual"):
            self._plan(request, stage, report)

    def _plan(self, request: Request, stage: str, progress: Progress | None = None) -> Plan:
        plan: Plan = self._known(request, stage, progress)
        return plan

    def _known(self, request: Request, stage: str, progress: Progress | None = None) -> Any:
        """Return what is made once for all requests that differ in nothing a plan depends on."""
        kept = self._shelf.made((_key(request), stage), lambda: self._made(request, stage, progress))
        if kept.request == request:
            return kept
        key = id(kept), request.title
        mine = self._mine.pop(key, None)
        if mine is None or mine[0] is not kept or mine[1].request != request:
            mine = kept, replace(kept, request=request)
        self._mine[key] = mine
        while len(self._mine) > MOST_MINE:
            self._mine.pop(next(iter(self._mine)))
        return mine[1]

    def _made(self, request: Request, stage: str, progress: Progress | None) -> Any:
        from planner.answers.plan import make_draft, plan_of_draft

        if stage == DRAFT:
            laid = in_rows(request) if is_searched(request) else request
            return replace(make_draft(laid, effort="quick"), request=request)
        draft = self._shelf.kept((_key(request), DRAFT)) if stage == _first_stage(request) else None
        if draft is not None:
            return _with_full_picture(plan_of_draft(draft))
        if stage == "rows":
            return replace(self._maker(in_rows(request), effort="quick", progress=progress), request=request)
        return _with_full_picture(self._maker(request, effort=stage, progress=progress))

    @property
    def _maker(self) -> Maker:
        if self._make is not None:
            return self._make
        from planner.answers.plan import make_plan

        return make_plan


def is_searched(request: Request) -> bool:
    """Whether effort makes a difference: the angle or the panels' places are left to the search."""
    asked = request.mosaic
    if request.panels and not request.grows:
        return False
    return asked.position_angle_deg is None or asked.is_free


def _first_stage(request: Request) -> str:
    """Return the first plan that is shown of a request."""
    return "rows" if is_searched(request) else "usual"


def _key(request: Request) -> Hashable:
    """Return what a plan depends on: not the title, the nights, the filters or where the file stands."""
    listed = tuple(
        (one.name, one.order, one.ra_deg, one.dec_deg, one.position_angle_deg, one.keep, one.field_deg)
        for one in request.panels
    )
    bare = replace(
        request,
        title="plan",
        panels=(),
        settled=None,
        sites=(),
        nights=None,
        filters=(),
        tables=(),
        path=None,
        setup_path=None,
    )
    return bare, listed, request.settled


def _with_full_picture(plan: Plan) -> Plan:
    """Return a plan whose largest full picture is known: the canvas shows it, and here nobody waits for it."""
    _ = plan.full_picture and plan.full_picture.turned
    return plan

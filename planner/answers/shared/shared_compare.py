"""The instruments of a shared mosaic set beside other setups, each of which would do all of it alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from planner.answers.compare import Cost, Hours, SetupAnswer, answer_of_plan, compare_setups, sorted_answers
from planner.night.settings import Filter
from planner.progress import Effort, Progress
from planner.request.request import Request, Setup
from planner.request.shared import SharedRequest
from planner.rig.print_size import USUAL_PPI, print_size_cm

from .shared_plan import SharedPlan, make_shared_plan

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["TogetherAnswer", "compare_with_shared"]


@dataclass(frozen=True, eq=False)
class TogetherAnswer(SetupAnswer):
    """What all instruments of the plan file give together.

    Parameters
    ----------
    panel_count : int
        Of all of them.
    """

    panel_count: int = field(default=0, kw_only=True)

    @property
    def panels(self) -> int | None:
        """Number of panels of all of them."""
        return self.panel_count

    @property
    def position_angle_deg(self) -> float | None:
        """None: each has its own."""
        return None


def compare_with_shared(
    request: SharedRequest,
    setups: Sequence[Setup],
    *,
    effort: Effort = "usual",
    progress: Progress | None = None,
) -> tuple[SetupAnswer, ...]:
    """Plan the shared mosaic, and the whole of it with every setup alone, through all its filters; sorted alike.

    Raises
    ------
    InputError
        If a setup has no camera, or the region cannot be found.
    """
    together = _together(make_shared_plan(request, effort=effort, progress=progress))
    bare = [replace(setup, filters=()) for setup in setups]
    alone = compare_setups(_whole(request), bare, effort=effort, progress=progress)
    return sorted_answers([together, *alone])


def _whole(request: SharedRequest) -> Request:
    """The wishes for all of it: the first instrument's, through the filters of all."""
    filters: dict[str, Filter] = {}
    for one in request.instruments:
        for chosen in one.request.filters:
            filters.setdefault(chosen.name, chosen)
    first = replace(request.instruments[0].request, panels=(), settled=None)
    return replace(first, title=request.title, filters=tuple(filters.values()))


def _together(shared: SharedPlan) -> TogetherAnswer:
    """Sums over the instruments; hours and cost only where all can do their part."""
    answers = [(one.name, answer_of_plan(one.plan, one.plan.request)) for one in shared.instruments]
    cannot = [f"{name}: {text}" for name, answer in answers for text in answer.cannot]
    cannot += [text for text in shared.shortfalls if not any(text in told for told in cannot)]
    hours = [answer.hours for _, answer in answers]
    costs = [answer.cost for _, answer in answers]
    scale = shared.finest.whole.request.camera.scale_arcsec_px
    return TogetherAnswer(
        " and ".join(one.name for one in shared.instruments),
        scale,
        hours=None if cannot else _hours(hours),
        cost=None if cannot else _cost(costs),
        print_width_cm=_print_cm(shared.finest.whole, shared),
        cannot=tuple(cannot),
        notes=tuple(_notes(answers)),
        panel_count=sum(len(one.panels) for one in shared.instruments),
    )


def _notes(answers: Sequence[tuple[str, SetupAnswer]]) -> Iterator[str]:
    """Notes on each, and what each costs where that makes no sum."""
    for name, answer in answers:
        yield from (f"{name}: {text}" for text in answer.notes)
    costs = [(name, answer.cost) for name, answer in answers]
    if _cost([cost for _, cost in costs]) is None:
        for name, cost in costs:
            if cost is not None:
                yield f"{name} costs {cost.least:,.0f} to {cost.most:,.0f} {cost.currency}".rstrip()


def _hours(hours: Sequence[Hours | None]) -> Hours | None:
    known = [one for one in hours if one is not None]
    if len(known) < len(hours):
        return None
    dark = [one.dark_sky for one in known if one.dark_sky is not None]
    return Hours(
        sum(one.exposures for one in known),
        sum(one.overheads for one in known),
        sum(dark) if len(dark) == len(known) else None,
    )


def _cost(costs: Sequence[Cost | None]) -> Cost | None:
    """Sum where all charge, in one currency."""
    known = [one for one in costs if one is not None]
    if len(known) < len(costs) or len({one.currency for one in known}) != 1:
        return None
    return Cost(sum(one.least for one in known), sum(one.most for one in known), known[0].currency)


def _print_cm(finest: Plan, shared: SharedPlan) -> float:
    asked = finest.request.picture
    return print_size_cm(shared.picture.pixels, ppi=asked.print_ppi if asked else USUAL_PPI)[0]

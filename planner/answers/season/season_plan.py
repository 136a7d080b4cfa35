"""One camera angle, or a few, for all targets of a season: the fewest panels in total.

Every turn of a hand-set adjuster costs a visit. The angles that the device can be set to are few; which of them
serve best, and which target goes with which, is solved exactly over what the targets need at each.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.answers.set_by_hand import trusting_words, trusts_the_hand
from planner.progress import Effort, Progress
from planner.rig.readings import least_travel
from planner.rig.settable_angles import SettableAngles, device_angles, free_angles
from planner.words import angle_words

from .best_angles import best_angles
from .order import Span, evenings_of, order_of_work, together
from .search import search_season
from .table import SeasonTable

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request, SeasonRequest

__all__ = ["SeasonAngle", "SeasonPlan", "SeasonTarget", "plan_season", "season_angles"]


Stays = list[tuple[int, list[int]]]
"""Angles in the order in which they are set, as indices, each with its targets."""


@dataclass(frozen=True, eq=False)
class SeasonTarget:
    """One target of a season, planned at the angle that it goes with.

    Parameters
    ----------
    plan : Plan
        Made and proven at that angle.
    panels_at_own_best_angle : int
        The fewest found at any angle that the device can be set to.
    own_best_angle_deg : float
        Degrees east of north, modulo the period of `SettableAngles`.
    evenings : (datetime.date, datetime.date) or None
        Between which it is best done; see `planner.answers.season.order.evenings_of`.
    promised : (int, float) or None
        Panels in rows, an estimate, where they are fewer than at its own best angle and nothing has been planned,
        and that angle in degrees.
    """

    plan: Plan
    panels_at_own_best_angle: int
    own_best_angle_deg: float
    evenings: Span | None = None
    promised: tuple[int, float] | None = None

    @property
    def title(self) -> str:
        """The plan's title."""
        return self.plan.request.title

    @property
    def panels(self) -> int:
        """Panels at the season's angle."""
        return len(self.plan.mosaic.panels)

    @property
    def last_evening(self) -> dt.date | None:
        """The last evening on which no panel has left the sky for this season."""
        return None if self.evenings is None else self.evenings[1]


@dataclass(frozen=True)
class SeasonAngle:
    """One angle of a season.

    Parameters
    ----------
    position_angle_deg : float
        Degrees east of north, in [0, 180), or [0, 90) for a square field.
    reading_deg : float or None
        A division of the device's scale; None without a device.
    targets : tuple of int
        Which targets go with it, in the order of work.
    """

    position_angle_deg: float
    reading_deg: float | None
    targets: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class SeasonPlan:
    """A season's angles, in the order of work, and its targets, in the order of the season file.

    Parameters
    ----------
    request : SeasonRequest
    angles : tuple of SeasonAngle
    targets : tuple of SeasonTarget
    settable : SettableAngles
        The angles that were looked at.
    rows : ndarray of int, shape (N, A)
        Panels of each target in sliding rows at each of them.
    turns : int
        Turns of the camera in the order of work: where nights leave no other order, more than angles less one.
    panels_total_bound : int
        No choice of so many angles has fewer panels in all, by what is proven for each target.
    notes : tuple of str
        What the user should know, one sentence each.
    """

    request: SeasonRequest
    angles: tuple[SeasonAngle, ...]
    targets: tuple[SeasonTarget, ...]
    settable: SettableAngles
    rows: NDArray[np.int64]
    turns: int
    panels_total_bound: int
    notes: tuple[str, ...] = ()

    @property
    def panels_total(self) -> int:
        """Panels of all targets at the season's angles."""
        return sum(target.panels for target in self.targets)

    @property
    def panels_total_free(self) -> int:
        """Panels of all targets, each at its own best angle."""
        return sum(target.panels_at_own_best_angle for target in self.targets)

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """What plans do not give although it was asked for, one sentence each; empty if all is met."""
        return tuple(f"{one.title}: {text}" for one in self.targets for text in one.plan.shortfalls)


def plan_season(
    request: SeasonRequest, *, effort: Effort = "usual", progress: Progress | None = None
) -> SeasonPlan:
    """Choose the angles of a season and plan every target at its own.

    The least total of panels counts; between equal totals fewer angles, then the larger sum of the overlaps found.

    Parameters
    ----------
    request : SeasonRequest
    effort : {'quick', 'usual', 'thorough'}
    progress : Progress, optional

    Raises
    ------
    InputError
        If plan files allow no angle that the device can be set to, or none in common with too few turns.
    """
    given, requests = request.requests, tuple(map(_at_its_angle, request.requests))
    request = replace(request, requests=requests)
    table = SeasonTable.of(requests, season_angles(request))
    most = request.turns_allowed + 1
    columns = search_season(table, most, effort=effort, progress=progress)
    targets = tuple(_target(table, target, column) for target, column in enumerate(columns.tolist()))
    stays = order_of_work(columns.tolist(), [target.evenings for target in targets])
    notes = tuple(_notes(request, table, stays, given))
    angles, turns = _angles(table.angles, stays), len(stays) - 1
    return SeasonPlan(request, angles, targets, table.angles, table.rows, turns, _bound(table, most), notes)


def _at_its_angle(request: Request) -> Request:
    """A request that keeps its panels is asked for at their angle: nobody turns the camera away from them."""
    if not _is_held(request):
        return request
    own = [one for one in request.panels if one.field_deg is None] or request.panels
    angle = own[0].position_angle_deg % request.camera.field.period_deg
    pinned = replace(request.mosaic, position_angle_deg=angle, position_angle_range_deg=None)
    return replace(request.unsettled, mosaic=pinned)


def _is_held(request: Request) -> bool:
    """Whether panels that the plan file keeps hold the camera at their angle."""
    return request.settled is not None or request.grows


def season_angles(request: SeasonRequest) -> SettableAngles:
    """Return the angles that the season's device can be set to; whole degrees without a device."""
    first = request.requests[0]
    period = first.camera.field.period_deg
    if first.angle_device is not None:
        return device_angles(first.angle_device, period_deg=period)
    pinned = (one.mosaic.position_angle_deg for one in request.requests)
    return free_angles([angle for angle in pinned if angle is not None], period_deg=period)


def _bound(table: SeasonTable, most: int) -> int:
    least = table.least_counts()
    columns = best_angles(least, most)
    assert columns is not None
    return int(least[np.arange(len(least)), columns].sum())


def _target(table: SeasonTable, target: int, column: int) -> SeasonTarget:
    plan = table.plans[target, column]
    best = table.best_angle(target)
    assert best is not None
    count = len(table.plans[target, best].mosaic.panels)
    promised = _promised(table, target, count)
    return SeasonTarget(plan, count, table.angles.angles_deg[best], evenings_of(plan), promised)


def _promised(table: SeasonTable, target: int, count: int) -> tuple[int, float] | None:
    """Return the fewest panels in rows where nothing has been planned and where, if they are below a count."""
    unplanned = table.allowed[target].copy()
    unplanned[[angle for row, angle in table.plans if row == target]] = False
    rows = np.where(unplanned, table.rows[target], count)
    best = int(rows.argmin())
    return (int(rows[best]), table.angles.angles_deg[best]) if rows[best] < count else None


def _angles(settable: SettableAngles, stays: Stays) -> tuple[SeasonAngle, ...]:
    """Return the angles in the order of work, at the readings that need the least turning."""
    groups = together(stays)
    choices = [settable.readings_deg[column] for column, _ in groups]
    readings = least_travel(choices) if all(choices) else [None] * len(groups)
    return tuple(
        SeasonAngle(settable.angles_deg[column], reading, tuple(members))
        for (column, members), reading in zip(groups, readings, strict=True)
    )


def _notes(
    request: SeasonRequest, table: SeasonTable, stays: Stays, given: Sequence[Request]
) -> Iterator[str]:
    device, angles = request.requests[0].angle_device, table.angles
    if len(stays) > len(together(stays)):
        order = ", ".join(angle_words(angles.angles_deg[column]) for column, _ in stays)
        yield (
            f"the nights leave no order in which every angle is set once: {order} are {len(stays) - 1} turns, "
            f"turns_allowed is {request.turns_allowed}"
        )
    if device is None:
        yield "no [angle_device] is given: whole degrees were looked at, and there are no readings"
    elif angles.stride > 1:
        yield f"the device's divisions are finer than needed: one in {angles.stride} was looked at"
    yield from _between_divisions(table)
    for one, told in zip(request.requests, given, strict=True):
        pin = one.mosaic.position_angle_deg
        if pin is not None:
            nearest = angles.angles_deg[int(angles.apart_deg(pin).argmin())]
            what, cure = _held_words(told) if _is_held(told) else ("pins its angle to", "")
            asked, got = angle_words(pin), angle_words(nearest)
            yield f"{one.title!r} {what} {asked}: it got the nearest that can be set, {got}{cure}"
    sure = [one.title for one in request.requests if trusts_the_hand(one)]
    if device is not None and sure:
        yield trusting_words(device.division_deg / 2, sure)


def _between_divisions(table: SeasonTable) -> Iterator[str]:
    """Say which targets have fewer panels at an angle that cannot be set than at any that can and was planned."""
    for target, (count, _) in table.fewest.items():
        best = table.best_angle(target)
        own = None if best is None else len(table.plans[target, best].mosaic.panels)
        if own is not None and count < own:
            title, angle = table.requests[target].title, angle_words(table.fewest_deg[target])
            yield f"{title!r} has {count} panels at {angle}, an angle that is not among those looked at"


def _held_words(request: Request) -> tuple[str, str]:
    """Say what holds the angle of a plan file that keeps panels, and how they are let go."""
    name = "FILE" if request.path is None else request.path.name
    cure = (
        f"; `plan {name} --unsettle` lets them go"
        if request.settled is not None
        else "; keep = true holds them"
    )
    return "keeps panels at the angle", cure

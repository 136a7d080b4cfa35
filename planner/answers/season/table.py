"""What every target of a season needs at every angle: counted in sliding rows, guessed, or planned and proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.answers.find_region import find_region
from planner.answers.grow import ALIKE_DEG
from planner.checks import require
from planner.errors import InputError
from planner.rig.settable_angles import SettableAngles

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["SeasonTable", "allowed_angles", "at_angle", "row_table"]

Counts = NDArray[np.int64]
Costs = NDArray[np.float64]
MARGIN_WEIGHT = 0.5
"""Weight of the margins of all targets together, in panels: below 1, so that they only decide between equals."""
MIDDLE_BONUS = 0.02
"""Overlap that the middle of a wide run of equal counts is taken to have in reserve, before it is planned."""


def row_table(requests: Sequence[Request], angles_deg: NDArray[np.float64]) -> Counts:
    """Panels that sliding rows need, shape (targets, angles): a guide, in milliseconds a target.

    A grid of fixed columns and rows needs the same number at every angle.
    """
    from planner.answers.plan import terms_of
    from planner.mosaic.choose import search_task
    from planner.mosaic.search.hints import rows_at
    from planner.mosaic.terms import Layout

    found = np.empty((len(requests), len(angles_deg)), dtype=np.int64)
    for row, request in zip(found, requests, strict=True):
        asked = request.mosaic
        if asked.columns is not None and asked.rows is not None:
            row[:] = asked.columns * asked.rows
            continue
        task = search_task(find_region(request.region).region, terms_of(request), Layout())
        row[:] = rows_at(task, angles_deg)
    return found


def allowed_angles(request: Request, angles: SettableAngles) -> NDArray[np.bool_]:
    """Which angles a plan file allows, shape (A,): all, those in its range, or the one nearest to its own.

    Raises
    ------
    InputError
        If the device can be set to none of them.
    """
    asked = request.mosaic
    if asked.position_angle_deg is not None:
        apart = angles.apart_deg(asked.position_angle_deg)
        wish = f"the angle {asked.position_angle_deg:g}"
        nearest = np.arange(len(angles)) == apart.argmin()
        mask = np.asarray(nearest & (apart <= angles.step_deg / 2 + 1e-6))
    else:
        wish = f"an angle in the range {list(asked.position_angle_range_deg or ())}"
        mask = np.array([asked.allows_angle(angle, angles.period_deg) for angle in angles.angles_deg])
    require(
        bool(mask.any()),
        f"{request.title!r} asks for {wish}, and the angle device has no division there within its travel; "
        "change the plan file or the travel",
    )
    return mask


def at_angle(request: Request, angle_deg: float) -> Request:
    """Return the request with its camera angle pinned."""
    return replace(
        request, mosaic=replace(request.mosaic, position_angle_deg=angle_deg, position_angle_range_deg=None)
    )


@dataclass
class SeasonTable:
    """Targets against angles; plans are added as they are made.

    Parameters
    ----------
    requests : sequence of Request
    angles : SettableAngles
    rows : ndarray of int, shape (N, A)
        Counts in sliding rows.
    allowed : ndarray of bool, shape (N, A)
    plans : dict
        (target, angle) to the best plan made there.
    fewest : dict
        Target to panels that a search over all angles, settable or not, has found, and the settable angle that
        is the nearest to where it found them.
    fewest_deg : dict
        Target to the angle at which it found them.
    bounds : dict
        Target to panels that are proven to be needed at every angle.
    """

    requests: tuple[Request, ...]
    angles: SettableAngles
    rows: Counts
    allowed: NDArray[np.bool_]
    plans: dict[tuple[int, int], Plan] = field(default_factory=dict)
    fewest: dict[int, tuple[int, int]] = field(default_factory=dict)
    fewest_deg: dict[int, float] = field(default_factory=dict)
    bounds: dict[int, int] = field(default_factory=dict)

    @classmethod
    def of(cls, requests: Sequence[Request], angles: SettableAngles) -> SeasonTable:
        """Count rows for all targets at all angles.

        Raises
        ------
        InputError
            If a plan file lists its panels, or allows no angle that can be set.
        """
        for request in requests:
            if request.panels:
                raise InputError(
                    f"{request.title!r} lists its panels, which a season cannot turn; leave [[panels]] out there"
                )
        allowed = np.array([allowed_angles(request, angles) for request in requests])
        rows = row_table(requests, angles.array_deg)
        bounds = {target: _least_panels(request) for target, request in enumerate(requests)}
        return cls(tuple(requests), angles, rows, allowed, bounds=bounds)

    def add(self, target: int, angle: int, plan: Plan) -> None:
        """Keep a plan if it is the best of its target at its angle."""
        known = self.plans.get((target, angle))
        if known is None or _worth(plan) < _worth(known):
            self.plans[target, angle] = plan

    def add_free(self, target: int, plan: Plan) -> None:
        """Keep what a search over all angles has found for a target: panels, nearest settable angle, bound."""
        angle_deg = plan.mosaic.panels[0].position_angle_deg
        apart = self.angles.apart_deg(angle_deg)
        nearest = int(np.where(self.allowed[target], apart, np.inf).argmin())
        if apart[nearest] <= ALIKE_DEG and self.allowed[target, nearest]:
            self.add(target, nearest, plan)
        self.fewest[target] = len(plan.mosaic.panels), nearest
        self.fewest_deg[target] = angle_deg % self.angles.period_deg
        self.bounds[target] = max(self.bounds.get(target, 1), plan.mosaic.panel_count_bound)

    def disappoints(self, target: int, angle: int) -> bool:
        """Whether the plan there needs more panels than rows were counted to."""
        return len(self.plans[target, angle].mosaic.panels) > int(self.rows[target, angle])

    def least_counts(self) -> Costs:
        """Panels that are proven to be needed, shape (N, A), infinite where an angle is not allowed."""
        least = np.array([[float(self.bounds.get(target, 1))] for target in range(len(self.requests))])
        least = np.where(self.allowed, least, np.inf)
        for place, plan in self.plans.items():
            least[place] = max(least[place], plan.mosaic.panel_count_bound)
        return least

    def best_angle(self, target: int) -> int | None:
        """The angle of the target's best plan so far."""
        own = [angle for row, angle in self.plans if row == target]
        return min(own, key=lambda angle: _worth(self.plans[target, angle]), default=None)

    def known_costs(self) -> Costs:
        """Costs of what has been planned, infinite elsewhere, shape (N, A); see `guessed_costs`."""
        costs = np.full(self.rows.shape, np.inf)
        for place, plan in self.plans.items():
            costs[place] = self._cost(plan)
        return costs

    def guessed_costs(self, *, spare: float = 0.0, any_margin: bool = False) -> Costs:
        """Panels, and less than a panel for small margins, shape (N, A): planned or else guessed.

        Parameters
        ----------
        spare : float
            Panels that guesses are lowered by, to see what else might be as good.
        any_margin : bool
            Take the greatest margin where nothing has been planned; else it is guessed to be what is asked, and
            a little more in the middle of a run of angles with no greater count.
        """
        margin = self._overlaps_asked()[:, None] + MIDDLE_BONUS * self._middles()
        guess = self.guessed_counts(spare=spare)
        guess += self._margin_cost(np.ones_like(margin) if any_margin else margin)
        guess[~self.allowed] = np.inf
        known = self.known_costs()
        return np.where(np.isfinite(known), known, guess)

    def guessed_counts(self, *, spare: float = 0.0) -> Costs:
        """Panels guessed from rows and from the plans so far, shape (N, A).

        The count in rows less what plans of that target have gained on rows so far (their mean, in whole panels),
        but no less than a search over all angles has found; all that less `spare`, but no less than is proven to be
        needed.
        """
        guess = self.rows.astype(float)
        for target, row in enumerate(guess):
            free, nearest = self.fewest.get(target, (1, None))
            gains = [
                float(self.rows[place]) - len(plan.mosaic.panels)
                for place, plan in self.plans.items()
                if place[0] == target
            ]
            if nearest is not None:
                gains.append(float(row[self.allowed[target]].min()) - free)
            likely = np.maximum(free, row - (np.rint(np.mean(gains)) if gains else 0.0))
            if nearest is not None:
                likely[nearest] = free
            row[:] = np.maximum(self.bounds.get(target, 1), likely - spare)
        return guess

    def _cost(self, plan: Plan) -> float:
        """Panels and margin; a plan that falls short costs more than all that do not."""
        short = float(self.rows.max(axis=1).sum()) + 1.0 if plan.shortfalls else 0.0
        return short + len(plan.mosaic.panels) + float(self._margin_cost(plan.mosaic.overlap_found))

    def _margin_cost(self, overlap: float | Costs) -> Costs:
        return np.asarray(MARGIN_WEIGHT / len(self.requests) * (1.0 - np.asarray(overlap)))

    def _overlaps_asked(self) -> Costs:
        from planner.answers.plan import terms_of

        return np.array([min(1.0, terms_of(request).overlap_asked) for request in self.requests])

    def _middles(self) -> Costs:
        """How deep each angle lies in a run of no greater count, in parts of half the period, shape (N, A)."""
        apart = np.array([self.angles.apart_deg(angle) for angle in self.angles.angles_deg])
        half = self.angles.period_deg / 2
        counts = np.where(self.allowed, self.rows, self.rows.max() + 1)
        worse = counts[:, None, :] > counts[:, :, None]
        return np.asarray(np.where(worse, apart, half).min(axis=2) / half)


def _least_panels(request: Request) -> int:
    """Panels that a target needs at every angle: those of a fixed grid, or what its area needs."""
    from planner.answers.plan import terms_of
    from planner.mosaic.proof.prove import area_bound

    asked = request.mosaic
    if asked.columns is not None and asked.rows is not None:
        return asked.columns * asked.rows
    return area_bound(find_region(request.region).region, terms_of(request))


def _worth(plan: Plan) -> tuple[bool, int, float]:
    """Smaller is better."""
    return bool(plan.shortfalls), len(plan.mosaic.panels), -plan.mosaic.overlap_found

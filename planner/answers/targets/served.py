"""Which camera angles serve most of the targets of a list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from planner.answers.serving import AngleService, FittingAngles, serve_most

if TYPE_CHECKING:
    from .target import Target, TargetList

__all__ = ["UNITS", "WEIGHINGS", "Weighing", "angle_service"]

Weighing = Literal["count", "hours", "area"]
"""What a target counts for: one, its hours in the season, or its area."""
WEIGHINGS: tuple[Weighing, ...] = get_args(Weighing)
UNITS = {"count": "", "hours": "hours", "area": "square degrees"}
"""What sums of weights are called; nothing where targets are counted."""


def angle_service(
    found: TargetList,
    by: Weighing = "count",
    *,
    weights: Sequence[float] | None = None,
    reading_deg: float | None = None,
) -> AngleService:
    """Return what every angle serves of a list's nebulae; groups are not counted, their members are.

    Parameters
    ----------
    found : TargetList
    by : {'count', 'hours', 'area'}
    weights : sequence of float, optional
        The user's own, one for each of ``found.nebulae``, in the place of `by`.
    reading_deg : float, optional
        The device's present reading; left out, that of the list's present angle.

    Raises
    ------
    InputError
        If the device's travel holds no division, or a weight is below 0.
    """
    targets = found.nebulae
    if weights is None:
        weights = [_weight(one, by) for one in targets]
    fitting = FittingAngles(
        tuple(one.name for one in targets),
        tuple(one.fits_at_deg for one in targets),
        tuple(map(float, weights)),
        found.field.period_deg,
    )
    hours = np.array([_evening_hours(one) for one in targets]) if targets else None
    return serve_most(
        fitting, found.setup.angle_device, now_deg=found.now_deg, reading_deg=reading_deg, evening_hours=hours
    )


def _weight(target: Target, by: Weighing) -> float:
    return {"count": 1.0, "hours": target.most_hours, "area": target.area_deg2}[by]


def _evening_hours(target: Target) -> NDArray[np.float64]:
    """Return its hours on each evening, through the filter that has the most in the season, shape (E,)."""
    return np.asarray(target.evening_hours[target.evening_hours.sum(axis=1).argmax()])

"""Targets, the stretches of angles at which each fits a frame, and what each counts for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.checks import require

__all__ = ["FittingAngles"]

Stretch = tuple[float, float]
DECIMALS = 9
"""Of a degree, to which ends are the same."""
CLOSE_DEG = 1e-9


@dataclass(frozen=True)
class FittingAngles:
    """At which camera angles targets fit a frame; ends of stretches belong to them.

    Parameters
    ----------
    names : tuple of str
        Of the targets.
    stretches_deg : tuple of tuples of (float, float)
        For each target, from and to of its angles, degrees east of north; `to` is at least `from` and may pass the
        period; a target may have none. They may overlap.
    weights : tuple of float
        What each counts for: 1, hours, an area, or the user's own; 0 or more.
    period_deg : float
        The turn that leaves a frame's ground the same: 180 degrees, or 90 for a square sensor.

    Raises
    ------
    InputError
        If a weight is below 0 or no number.

    >>> both = FittingAngles(("A", "B"), (((170.0, 190.0),), ((10.0, 20.0),)), (1.0, 1.0), 180.0)
    >>> both.holds(10.0).tolist(), both.holds(175.0).tolist()
    ([True, True], [True, False])
    """

    names: tuple[str, ...]
    stretches_deg: tuple[tuple[Stretch, ...], ...]
    weights: tuple[float, ...]
    period_deg: float = 180.0

    def __post_init__(self) -> None:
        if not len(self.names) == len(self.stretches_deg) == len(self.weights):
            raise ValueError("names, stretches_deg and weights must have the same length")
        for name, weight in zip(self.names, self.weights, strict=True):
            require(
                math.isfinite(weight) and weight >= 0,
                f"the weight of {name} must be 0 or more, got {weight:g}; give a number",
            )

    def __len__(self) -> int:
        return len(self.names)

    @cached_property
    def weight_array(self) -> NDArray[np.float64]:
        """The weights as an array, shape (N,)."""
        return np.array(self.weights, dtype=float)

    @cached_property
    def joined_deg(self) -> tuple[tuple[Stretch, ...], ...]:
        """Stretches that neither overlap nor touch, rising: from in [0, period), to below from and a period.

        The whole period is (0, period).
        """
        return tuple(_joined(stretches, self.period_deg) for stretches in self.stretches_deg)

    @property
    def count_fitting(self) -> int:
        """How many targets fit at any angle."""
        return sum(bool(stretches) for stretches in self.joined_deg)

    @property
    def count_always(self) -> int:
        """How many targets fit at every angle."""
        whole = ((0.0, self.period_deg),)
        return sum(stretches == whole for stretches in self.joined_deg)

    def holds(self, angle_deg: float) -> NDArray[np.bool_]:
        """Which targets fit at an angle, shape (N,)."""
        return np.array([self._holds(stretches, angle_deg) for stretches in self.joined_deg], dtype=bool)

    def served_by(self, angles_deg: Iterable[float]) -> float:
        """What those targets count for together that fit at one of the angles at least."""
        served = np.zeros(len(self), dtype=bool)
        for angle in angles_deg:
            served |= self.holds(angle)
        return float(self.weight_array[served].sum())

    def _holds(self, stretches: Sequence[Stretch], angle_deg: float) -> bool:
        return any(
            (past := (angle_deg - start) % self.period_deg) <= stop - start + CLOSE_DEG
            or past >= self.period_deg - CLOSE_DEG
            for start, stop in stretches
        )


def _joined(stretches: Sequence[Stretch], period_deg: float) -> tuple[Stretch, ...]:
    """Return the union of stretches modulo a period."""
    pieces: list[Stretch] = []
    for start, stop in stretches:
        if stop - start >= period_deg - CLOSE_DEG:
            return ((0.0, period_deg),)
        low = round(start % period_deg, DECIMALS) % period_deg
        high = round(low + stop - start, DECIMALS)
        pieces += [(low, high)] if high < period_deg else [(low, period_deg), (0.0, high - period_deg)]
    found = _merged(pieces)
    return _closed_over(found, period_deg)


def _merged(pieces: list[Stretch]) -> list[Stretch]:
    found: list[Stretch] = []
    for low, high in sorted(pieces):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def _closed_over(found: list[Stretch], period_deg: float) -> tuple[Stretch, ...]:
    """Join what ends at the period with what begins at 0."""
    if not found or found[-1][1] < period_deg or found[0][0] > 0:
        return tuple(found)
    if len(found) == 1:
        return ((0.0, period_deg),)
    last = (found[-1][0], round(found[0][1] + period_deg, DECIMALS))
    return (*found[1:-1], last)

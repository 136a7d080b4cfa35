"""Lower bounds worked out beside the search: stages are ordered ahead and waited for when they are due."""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np
from numpy.typing import NDArray

from planner.beside import Beside
from planner.mosaic.angle_range import AngleRange

from .angle_bounds import AngleBounds, OpenAngles

__all__ = ["BoundsBeside", "Chosen"]

Array = NDArray[np.float64]
Told = tuple[int, int]
Chosen = tuple[float, Array] | None
Steps = Generator[Told, None, tuple[OpenAngles, Chosen]]


class BoundsBeside:
    """Bounds of a task, by a second process where that may be; the outcome is the same without one.

    Parameters
    ----------
    make : callable
        Makes the bounds.
    angles : AngleRange
        Of the task.
    floor : int
        A bound that is known already.
    """

    def __init__(self, make: Callable[[], AngleBounds], angles: AngleRange, floor: int) -> None:
        self._beside: Beside[AngleBounds, Told, tuple[OpenAngles, Chosen]] = Beside(make)
        self.least = floor
        self.open = OpenAngles(((floor, *next(angles.parts(angles.period_deg))),))
        """What is known: the bound, and angles by what the last outcome says of them."""
        self._beside.ask(_first)

    @property
    def is_due(self) -> bool:
        """Whether a stage is ordered that has not been waited for."""
        return self._beside.is_asked

    def refine(self, count: int, budget: int, angle_deg: float) -> None:
        """Order a stage: see `AngleBounds.refine`."""
        self._beside.ask(_refined, count, budget, angle_deg)

    def settle(self, count: int) -> None:
        """Order a stage: see `AngleBounds.settle`."""
        self._beside.ask(_settled, count)

    def outcome(self) -> Generator[int, None, Chosen]:
        """Wait for the stage that was ordered first of those that are left, and yield what has been spent.

        Returns
        -------
        (float, ndarray of shape (N, 3)) or None
            What settling gave.
        """
        steps = self._beside.answer()
        while True:
            try:
                self.least, spent = next(steps)
            except StopIteration as end:
                chosen: Chosen
                self.open, chosen = end.value
                self.least = max(self.least, self.open.least)
                return chosen
            yield spent

    def close(self) -> None:
        """Give up what is still ordered."""
        self._beside.close()


def _first(bounds: AngleBounds) -> Steps:
    yield bounds.least, bounds.spent
    return bounds.open, None


def _refined(bounds: AngleBounds, count: int, budget: int, angle_deg: float) -> Steps:
    for spent in bounds.refine(count, budget, angle_deg):
        yield bounds.least, spent
    return bounds.open, None


def _settled(bounds: AngleBounds, count: int) -> Steps:
    chosen = bounds.settle(count)
    yield bounds.least, bounds.spent
    return bounds.open, chosen

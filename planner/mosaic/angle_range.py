"""Camera angles that are allowed, modulo what a turn of the sensor leaves the same."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from planner.geometry import wrapped_deg

__all__ = ["AngleRange"]


@dataclass(frozen=True)
class AngleRange:
    """Camera angles from a start up to a start and a span, degrees; the same again after every period.

    Parameters
    ----------
    start_deg : float
    span_deg : float
        At least 0, at most the period; 0 is a single angle.
    period_deg : float
        180 for a rectangle, 90 for a square.

    >>> AngleRange(170.0, 20.0).holds(5.0), AngleRange(170.0, 20.0).holds(95.0)
    (True, False)
    """

    start_deg: float = 0.0
    span_deg: float = 180.0
    period_deg: float = 180.0

    @classmethod
    def between(cls, ends_deg: tuple[float, float] | None, period_deg: float) -> AngleRange:
        """Return the angles from one end up to the other, which may lie past the period; all of them without ends.

        >>> AngleRange.between((170.0, 10.0), 180.0)
        AngleRange(start_deg=170.0, span_deg=20.0, period_deg=180.0)
        """
        if ends_deg is None:
            return cls(0.0, period_deg, period_deg)
        start, end = ends_deg
        return cls(
            start, period_deg if abs(end - start) >= period_deg else (end - start) % period_deg, period_deg
        )

    def holds(self, angle_deg: float) -> bool:
        """Whether the range holds an angle, modulo the period."""
        past = (angle_deg - self.start_deg) % self.period_deg
        return past <= self.span_deg + 1e-9 or past >= self.period_deg - 1e-9

    def turn_deg(self, first_deg: float, second_deg: float) -> float:
        """Smallest turn from one angle to another, in [-period / 2, period / 2)."""
        return wrapped_deg(second_deg - first_deg, self.period_deg)

    def parts(self, widest_deg: float) -> Iterator[tuple[float, float]]:
        """Middles and half widths, degrees, of equal parts at most so wide."""
        count = max(1, math.ceil(self.span_deg / widest_deg - 1e-9))
        half = self.span_deg / count / 2
        for part in range(count):
            yield self.start_deg + (2 * part + 1) * half, half

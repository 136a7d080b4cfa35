"""Which frames share flats: those whose camera angles are alike.

A turned camera needs flats of its own: what shades its pixels, from the tube to the edges of filters, does not turn
with it (common practice, no source; so is the degree within which frames share them).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["FLAT_ANGLE_DEG", "HALF_TURN_DEG", "FlatAngles", "flat_angles", "flat_words"]

FLAT_ANGLE_DEG = 1.0
"""Camera angles within so many degrees share flats."""
HALF_TURN_DEG = 180.0
"""A mount's flip turns the picture on the sky, but not the camera: position angles are told apart up to this."""


@dataclass(frozen=True)
class FlatAngles:
    """Camera angles in groups that share flats.

    Parameters
    ----------
    numbers : tuple of int
        Group of each angle that was asked about.
    angles_deg : tuple of float
        The first angle of each group, as it was given.
    period_deg : float
        Angles that differ by it are the same.
    """

    numbers: tuple[int, ...]
    angles_deg: tuple[float, ...]
    period_deg: float = HALF_TURN_DEG

    def near(self, angle_deg: float) -> int | None:
        """Number of the group whose flats an angle shares, the nearest; None if there is none."""
        off = [abs(math.remainder(angle_deg - one, self.period_deg)) for one in self.angles_deg]
        best = min(range(len(off)), key=off.__getitem__, default=None)
        return best if best is not None and off[best] <= FLAT_ANGLE_DEG else None


def flat_angles(angles_deg: Sequence[float], period_deg: float = HALF_TURN_DEG) -> FlatAngles:
    """Put angles that share flats into groups, in their order.

    Parameters
    ----------
    angles_deg : sequence of float
        Position angles (modulo 180) or readings (modulo 360), degrees, shape (N,).
    period_deg : float

    >>> flat_angles([20.0, 110.0, 200.4, 20.9])
    FlatAngles(numbers=(0, 1, 0, 0), angles_deg=(20.0, 110.0), period_deg=180.0)
    """
    numbers: list[int] = []
    firsts: list[float] = []
    for angle in angles_deg:
        found = FlatAngles((), tuple(firsts), period_deg).near(angle)
        if found is None:
            found = len(firsts)
            firsts.append(angle)
        numbers.append(found)
    return FlatAngles(tuple(numbers), tuple(firsts), period_deg)


def flat_words(
    filters: Sequence[str], position_angle_deg: float | None, reading_deg: float | None = None
) -> str:
    """Say which flats are meant.

    >>> flat_words(["Ha", "OIII"], 20.0, 112.4)
    'flats in Ha, OIII at 20.00° (reading 112.40°)'
    """
    named = f" in {', '.join(filters)}" if filters else ""
    angle = "" if position_angle_deg is None else f" at {position_angle_deg:.2f}°"
    reading = (
        "" if reading_deg is None or not math.isfinite(reading_deg) else f" (reading {reading_deg:.2f}°)"
    )
    return f"flats{named}{angle}{reading}"

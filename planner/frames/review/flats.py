"""Flats among the frames that came back: counted by camera angle and filter, and which are missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.errors import FileError
from planner.frames.header.cards import ImageHeader
from planner.frames.header.tangent_wcs import tangent_solution
from planner.mosaic.panel import Panel
from planner.rig.flats import flat_angles

__all__ = ["FlatCount", "FlatLog", "told_angle_deg"]

ANGLE_KEYS = ("POSANGLE", "POSANG", "ORIENTAT", "ROTANGLE", "ROTANG")
"""Where headers tell the position angle of the camera, degrees east of north: common practice, no source."""
SAME_DEG = 1
"""Decimals to which flats of no planned angle are told apart."""


def told_angle_deg(header: ImageHeader) -> float | None:
    """Position angle of the camera as a header tells it, by a keyword or by coordinates; None where it does not."""
    for key in ANGLE_KEYS:
        if key in header.values:
            try:
                return header.number(key, 0.0) % 360.0
            except FileError:
                continue
    try:
        solution = tangent_solution(header)
    except (FileError, ArithmeticError, ValueError, LookupError):
        return None
    return None if solution is None else solution.position_angle_deg


@dataclass(frozen=True)
class FlatCount:
    """Flats of one camera angle and filter, or frames that lack them.

    Parameters
    ----------
    position_angle_deg : float or None
        Of the plan, where one of its camera angles is near; None where the headers do not tell it.
    filter : str or None
        As the plan spells it; None where the headers do not tell it.
    frames : int
        Flats; where they are missing, good frames that lack them.
    """

    position_angle_deg: float | None
    filter: str | None
    frames: int


class FlatLog:
    """Counts flats, and tells which frames lack them.

    Parameters
    ----------
    panels : sequence of Panel
        Of the plan.
    """

    def __init__(self, panels: Sequence[Panel]) -> None:
        self.angles = flat_angles([panel.position_angle_deg for panel in panels])
        self._flats: Counter[tuple[float | None, str | None]] = Counter()

    def add(self, angle_deg: float | None, filter_name: str | None) -> None:
        """Count one flat."""
        self._flats[self._planned(angle_deg), filter_name] += 1

    def counts(self) -> tuple[FlatCount, ...]:
        """Return all flats by angle, then filter; those that do not tell it come last."""
        keys = sorted(self._flats, key=_order)
        return tuple(FlatCount(angle, name, self._flats[angle, name]) for angle, name in keys)

    def missing(self, good: Mapping[tuple[int, str | None], int]) -> tuple[FlatCount, ...]:
        """Return what good frames lack flats.

        Parameters
        ----------
        good : mapping
            Good frames by number of the panel and filter.
        """
        need: Counter[tuple[float | None, str | None]] = Counter()
        for (panel, name), count in good.items():
            need[self.angles.angles_deg[self.angles.numbers[panel]], name] += count
        lack = [key for key in sorted(need, key=_order) if need[key] and not self._has(*key)]
        return tuple(FlatCount(angle, name, need[angle, name]) for angle, name in lack)

    def _has(self, angle_deg: float | None, name: str | None) -> bool:
        """Whether there are flats: of a plan with one camera angle those count too that do not tell theirs."""
        untold = len(self.angles.angles_deg) == 1 and self._flats[None, name] > 0
        return untold or self._flats[angle_deg, name] > 0

    def _planned(self, angle_deg: float | None) -> float | None:
        if angle_deg is None:
            return None
        number = self.angles.near(angle_deg)
        return round(angle_deg, SAME_DEG) if number is None else self.angles.angles_deg[number]


def _order(key: tuple[float | None, str | None]) -> tuple[bool, float, bool, str]:
    angle, name = key
    return angle is None, angle or 0.0, name is None, name or ""

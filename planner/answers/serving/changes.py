"""Who is lost and who is won when the camera is turned away from an angle, to either side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .fitting_angles import CLOSE_DEG, FittingAngles, Stretch

__all__ = ["Change", "changes_beside"]


@dataclass(frozen=True)
class Change:
    """A target that a turn loses or wins.

    Parameters
    ----------
    name : str
    past_deg : float
        By how much the camera is turned until then: above 0 towards greater position angles.
    lost : bool
        Whether it fits up to there; else it fits from there on.
    weight : float
    """

    name: str
    past_deg: float
    lost: bool
    weight: float


def changes_beside(fitting: FittingAngles, angle_deg: float) -> tuple[Change, ...]:
    """Return the first change of every target on either side of an angle, up to half a period, the nearest first.

    >>> one = FittingAngles(("A", "B"), (((0.0, 20.0),), ((30.0, 50.0),)), (1.0, 1.0), 180.0)
    >>> [(change.name, change.past_deg, change.lost) for change in changes_beside(one, 15.0)]
    [('A', 5.0, True), ('B', 15.0, False), ('A', -15.0, True)]
    """
    found = [
        Change(name, past, lost, weight)
        for name, stretches, weight in zip(fitting.names, fitting.joined_deg, fitting.weights, strict=True)
        for past, lost in _first_ends(stretches, angle_deg, fitting.period_deg)
    ]
    return tuple(sorted(found, key=lambda one: (abs(one.past_deg), -one.past_deg, one.name)))


def _first_ends(
    stretches: tuple[Stretch, ...], angle_deg: float, period_deg: float
) -> Iterator[tuple[float, bool]]:
    """Yield how far the nearest end is on each side, and whether the target fits up to there."""
    if not stretches or stretches[0][1] - stretches[0][0] >= period_deg:
        return
    for start, stop in stretches:
        past = (angle_deg - start) % period_deg
        past -= period_deg * (past >= period_deg - CLOSE_DEG)
        if past <= stop - start + CLOSE_DEG:
            ends = max(0.0, stop - start - past), min(0.0, -past)
            yield from ((end, True) for end in ends if abs(end) <= period_deg / 2)
            return
    ahead = min((start - angle_deg) % period_deg for start, _ in stretches)
    behind = min((angle_deg - stop) % period_deg for _, stop in stretches)
    yield from ((end, False) for end in (ahead, -behind) if abs(end) <= period_deg / 2)

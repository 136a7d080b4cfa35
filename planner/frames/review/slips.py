"""When the camera angle changed: jumps in the angles of frames, told from slow drift and from single odd frames."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAST_SLIP_DEG", "Slip", "find_slips"]

LEAST_SLIP_DEG = 0.3
"""Smaller changes are taken for drift, and for what solutions scatter."""
SCATTERS = 6.0
"""A change is at least so many times what frames scatter from one to the next."""
FLIP_OFFSET_DEG = 1.0
"""By less than this frames on both sides of a flip may differ without a slip (common practice, no source)."""
LATEST = 3
"""So many frames tell where the angle stands."""
AFTER = 5
"""So many frames tell by how much it changed."""
LEAST_FITTED, MOST_FITTED = 6, 60
"""Frames that tell how fast the angle runs before a gap in time."""
UNSURE = 0.15
"""Part of what the angle would have run by which it may have run more or less."""
HALF_TURN_DEG = 180.0
NIGHT_DAYS = 0.75


@dataclass(frozen=True)
class Slip:
    """A change of the camera angle between two frames that follow each other.

    Parameters
    ----------
    first : int
        Place of the first frame after it, among all frames by time.
    change_deg : float
        East of north positive.
    at_flip : bool
        Whether the frame before it looks to the other side of the mount, so that a flip lies between.
    """

    first: int
    change_deg: float
    at_flip: bool


def find_slips(
    days: NDArray[np.float64], angle_off_deg: NDArray[np.float64], state: NDArray[np.intp]
) -> tuple[Slip, ...]:
    """Find the changes of the camera angle.

    By how much the sides of the mount differ is taken from the first frame of the second one, unless that is more
    than a flip explains; from then on all frames are one series. A change needs two frames that show it: one alone
    is taken for odd. Where time has passed between frames, how the angle ran before is allowed for.

    Parameters
    ----------
    days : ndarray, shape (N,)
        Sorted.
    angle_off_deg : ndarray, shape (N,)
        Position angle less plan, east of north positive.
    state : ndarray of int, shape (N,)
        0 as planned, 1 upside down.

    Examples
    --------
    >>> off = np.array([0.0, 0.01, 0.0, 2.0, 2.01, 2.0])
    >>> [(slip.first, round(slip.change_deg, 2)) for slip in find_slips(np.arange(6) / 100, off, np.zeros(6, int))]
    [(3, 2.0)]
    """
    return tuple(_Follower(days, angle_off_deg, state).slips())


def _folded(angle_deg: float) -> float:
    return (angle_deg + HALF_TURN_DEG / 2) % HALF_TURN_DEG - HALF_TURN_DEG / 2


@dataclass
class _Follower:
    """Goes through frames by time, and knows where the angle stands."""

    days: NDArray[np.float64]
    angles_deg: NDArray[np.float64]
    states: NDArray[np.intp]
    _latest: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=MOST_FITTED))
    """Days and angle of the latest frames, as on the side that was used first, changes since then added."""
    _side_deg: dict[int, float] = field(default_factory=dict)
    """State to how far its frames are off those of the side that was used first."""
    _guessed: bool = False
    """Whether a change at the first flip hid how far the second side is off."""

    def slips(self) -> Iterator[Slip]:
        least_deg = max(LEAST_SLIP_DEG, SCATTERS * self._scatter_deg())
        for number, state in enumerate(self.states.tolist()):
            off = self._off_deg(number)
            if self._tells_side(number) and abs(off) < FLIP_OFFSET_DEG:
                self._side_deg[state] = self._side_deg.get(state, 0.0) + off - self._ran_deg(number)
                self._guessed = False
            elif self._least_off_deg(number, off) >= least_deg:
                if not self._confirmed(number, off, least_deg):
                    continue
                change = self._change_deg(number)
                yield Slip(number, change, int(self.states[number - 1]) != state)
                self._latest = deque(((day, angle + change) for day, angle in self._latest), MOST_FITTED)
                self._guessed = self._guessed or state not in self._side_deg
                self._side_deg.setdefault(state, 0.0)
            self._latest.append((float(self.days[number]), self._angle_deg(number)))

    def _tells_side(self, number: int) -> bool:
        """Whether a frame tells how far its side is off the other one."""
        state = int(self.states[number])
        return state not in self._side_deg or (self._guessed and int(self.states[number - 1]) != state)

    def _scatter_deg(self) -> float:
        """How much frames of a state scatter, as a standard deviation by the median of steps from one to the next."""
        steps = [np.abs(np.diff(self.angles_deg[self.states == state])) for state in (0, 1)]
        joined = np.concatenate(steps)
        return 1.4826 / np.sqrt(2.0) * float(np.median(joined)) if len(joined) else 0.0

    def _angle_deg(self, number: int) -> float:
        return float(self.angles_deg[number]) - self._side_deg.get(int(self.states[number]), 0.0)

    def _off_deg(self, number: int) -> float:
        """How far a frame is off what was seen last."""
        if not self._latest:
            return 0.0
        return _folded(self._angle_deg(number) - _middle([angle for _, angle in self._newest()]))

    def _newest(self) -> list[tuple[float, float]]:
        """Return the latest frames, of one night."""
        since = self._latest[-1][0] - NIGHT_DAYS / 2
        return [row for row in list(self._latest)[-LATEST:] if row[0] >= since]

    def _least_off_deg(self, number: int, off_deg: float) -> float:
        """How far a frame is off at least, if the angle stood still or went on about as it ran before."""
        if abs(off_deg) < LEAST_SLIP_DEG:
            return abs(off_deg)
        ran = self._ran_deg(number)
        return min(abs(off_deg), abs(_folded(off_deg - ran)) - UNSURE * abs(ran))

    def _ran_deg(self, number: int) -> float:
        """How far the angle ran since the latest frames, if it went on as it did in the night before."""
        if not self._latest:
            return 0.0
        table = np.array([row for row in self._latest if row[0] >= self._latest[-1][0] - NIGHT_DAYS])
        if len(table) < LEAST_FITTED or np.ptp(table[:, 0]) <= 0.0:
            return 0.0
        slope = float(np.polyfit(table[:, 0] - table[-1, 0], table[:, 1], 1)[0])
        return slope * (float(self.days[number]) - _middle([day for day, _ in self._newest()]))

    def _confirmed(self, number: int, off_deg: float, least_deg: float) -> bool:
        """Whether the next frame shows the change as well."""
        if number + 1 >= len(self.days):
            return False
        again = self._off_deg(number + 1)
        return abs(_folded(again - off_deg)) < max(least_deg, abs(off_deg) / 2)

    def _change_deg(self, number: int) -> float:
        end = min(number + AFTER, len(self.days))
        night = [n for n in range(number, end) if self.days[n] <= self.days[number] + NIGHT_DAYS]
        return _middle([self._off_deg(n) for n in night if self.states[n] == self.states[number]])


def _middle(values: Sequence[float]) -> float:
    """Median; of an even number the lower of the middle two."""
    return sorted(values)[(len(values) - 1) // 2]

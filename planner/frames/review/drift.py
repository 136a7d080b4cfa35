"""Drift of the camera angle: position angle less plan against time, for each pointing state."""

from __future__ import annotations

import datetime as dt
from array import array
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["AngleLog", "Drift", "PointingDrift", "date_number"]

State = Literal["as planned", "upside down"]
STATES: tuple[State, State] = ("as planned", "upside down")
LATEST_DAYS = 0.75
"""Frames up to so long before the last one tell the present angle: one night."""
LEAST_SPAN_DAYS = 1.5
"""A rate is given over at least so long: two nights."""
MOST_FITTED = 2000
"""Frames that a rate is worked out from, evenly through the list."""


def date_number(text: str | None) -> float | None:
    """Days since 2000-01-01 0h UTC of a DATE-OBS; None if it is missing or makes no sense.

    >>> date_number("2027-01-08T12:00:00.5"), date_number("2000-01-02"), date_number("soon")
    (9869.500005787037, 1.0, None)
    """
    if text is None:
        return None
    try:
        moment = dt.datetime.fromisoformat(text.strip().removesuffix("Z"))
    except ValueError:
        return None
    return (moment.replace(tzinfo=None) - dt.datetime(2000, 1, 1)) / dt.timedelta(days=1)


@dataclass(frozen=True)
class PointingDrift:
    """How the angle ran in one pointing state.

    Parameters
    ----------
    state : {'as planned', 'upside down'}
        Whether the frames' up is nearer to the plan's up, or turned by 180 degrees, as after a flip.
    days : ndarray, shape (N,)
        Since 2000-01-01 0h UTC, sorted.
    angle_off_deg : ndarray, shape (N,)
        Position angle less plan, modulo 180 (90 for a square sensor), east of north positive.
    now_deg : float
        Median of the last night.
    rate_deg_per_month : float or None
        Median of the slopes between all pairs of frames; None within one night. A month has 30 days.
    """

    state: State
    days: NDArray[np.float64]
    angle_off_deg: NDArray[np.float64]
    now_deg: float
    rate_deg_per_month: float | None


@dataclass(frozen=True)
class Drift:
    """The angle in both pointing states, where there are frames of them.

    Parameters
    ----------
    states : tuple of PointingDrift
    mirrored : bool or None
        Whether the latest frame is mirrored, so that a turn by hand goes the other way; None without frames.
    """

    states: tuple[PointingDrift, ...]
    mirrored: bool | None = None

    @property
    def turn_back_deg(self) -> float | None:
        """Turn that would bring the latest angle back to the plan's, east of north positive.

        The mean of both pointing states where both were used in the last night, so that neither is favoured.
        """
        if not self.states:
            return None
        last = max(state.days[-1] for state in self.states)
        now = [state.now_deg for state in self.states if state.days[-1] >= last - LATEST_DAYS]
        return -float(np.mean(now))


@dataclass
class AngleLog:
    """Angles as frames come in: 24 bytes a frame."""

    _numbers: array[float] = field(default_factory=lambda: array("d"), repr=False)
    _latest: tuple[float, bool] | None = None

    def add(
        self, date_obs: str | None, angle_off_deg: float, *, upside_down: bool, mirrored: bool = False
    ) -> None:
        """Add a frame; one without a date is left out."""
        day = date_number(date_obs)
        if day is not None:
            self._numbers.extend((day, angle_off_deg, float(upside_down)))
            self._latest = max(self._latest or (day, mirrored), (day, mirrored))

    def drift(self) -> Drift:
        """Return the drift of all frames so far."""
        table = np.array(self._numbers, dtype=float).reshape(-1, 3)
        table = table[np.argsort(table[:, 0], kind="stable")]
        parts = [(name, table[table[:, 2] == number]) for number, name in enumerate(STATES)]
        states = tuple(_state_drift(name, part) for name, part in parts if len(part))
        return Drift(states, None if self._latest is None else self._latest[1])


def _state_drift(state: State, table: NDArray[np.float64]) -> PointingDrift:
    days, angles = table[:, 0], table[:, 1]
    now = float(np.median(angles[days >= days[-1] - LATEST_DAYS]))
    return PointingDrift(state, days, angles, now, _rate(days, angles))


def _rate(days: NDArray[np.float64], angles: NDArray[np.float64]) -> float | None:
    """Slope by the median of pairs, degrees in 30 days; source: Sen 1968, J. Am. Stat. Assoc. 63, 1379."""
    if days[-1] - days[0] < LEAST_SPAN_DAYS:
        return None
    from scipy.stats import theilslopes

    chosen = np.unique(np.linspace(0, len(days) - 1, MOST_FITTED).astype(int))
    with np.errstate(
        invalid="ignore"
    ):  # of its confidence interval, not asked for, where many dates are the same
        return 30.0 * float(theilslopes(angles[chosen], days[chosen]).slope)

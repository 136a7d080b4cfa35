"""The camera angle over time, for each pointing state: how it drifts, and when it changed at once."""

from __future__ import annotations

import datetime as dt
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from .slips import FLIP_OFFSET_DEG, LEAST_SLIP_DEG, Slip, find_slips

__all__ = ["AngleChange", "AngleLog", "Drift", "PanelsSince", "PointingDrift", "date_number"]

State = Literal["as planned", "upside down"]
STATES: tuple[State, State] = ("as planned", "upside down")
LATEST_DAYS = 0.75
"""Frames up to so long before the last one tell the present angle: one night."""
LEAST_SPAN_DAYS = 1.5
"""A rate is given over at least so long: two nights."""
MOST_FITTED = 2000
"""Frames that a rate is worked out from, evenly through the list."""
LEAST_CREEPING = 6
"""So many frames of a night at least tell that the angle moves."""
CREPT = 5
"""So many of its last ones tell where it has got to."""


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
        Median of the last night since the angle changed last; of its last frames where it creeps.
    rate_deg_per_month : float or None
        Median of the slopes between all pairs of frames, changes at once left out; None within one night. A month has
        30 days.
    creep_deg_per_hour : float or None
        How fast it moves within the last night; None where it does not.
    """

    state: State
    days: NDArray[np.float64]
    angle_off_deg: NDArray[np.float64]
    now_deg: float
    rate_deg_per_month: float | None
    creep_deg_per_hour: float | None = None


@dataclass(frozen=True)
class PanelsSince:
    """Frames of one panel between two changes of the angle.

    Parameters
    ----------
    panel : str
        Its name.
    frames : int
    turned : int
        Those of them that are turned too far to count.
    """

    panel: str
    frames: int
    turned: int


@dataclass(frozen=True)
class AngleChange:
    """The camera angle changed at once.

    Parameters
    ----------
    after, before : str
        Files of the last frame before it and of the first one after it.
    from_day, to_day : float
        When these were begun, days since 2000-01-01 0h UTC.
    change_deg : float
        East of north positive.
    at_flip : bool
        Whether these two look to different sides of the mount, so that a flip lies between.
    panels : tuple of PanelsSince
        What was shot since, until the angle changed again.
    """

    after: str
    before: str
    from_day: float
    to_day: float
    change_deg: float
    at_flip: bool
    panels: tuple[PanelsSince, ...]


@dataclass(frozen=True)
class Drift:
    """The angle in both pointing states, where there are frames of them.

    Parameters
    ----------
    states : tuple of PointingDrift
    mirrored : bool or None
        Whether the latest frame is mirrored, so that a turn by hand goes the other way; None without frames.
    changes : tuple of AngleChange
        By time.
    """

    states: tuple[PointingDrift, ...]
    mirrored: bool | None = None
    changes: tuple[AngleChange, ...] = ()

    @property
    def latest(self) -> tuple[PointingDrift, ...]:
        """States that tell where the angle stands now: those used since it changed last, in the last night.

        Only the latest of them where the angle creeps, or where both differ by more than a flip explains.
        """
        if not self.states:
            return ()
        last = max(self.states, key=lambda state: float(state.days[-1]))
        since = max(last.days[-1] - LATEST_DAYS, self.changes[-1].to_day if self.changes else -np.inf)
        used = tuple(state for state in self.states if state.days[-1] >= since)
        apart = abs(used[0].now_deg - used[-1].now_deg) >= FLIP_OFFSET_DEG
        creeps = any(state.creep_deg_per_hour is not None for state in used)
        return (last,) if apart or creeps else used

    @property
    def turn_back_deg(self) -> float | None:
        """Turn that would bring the present angle back to the plan's, east of north positive.

        The mean of both pointing states where both tell the present angle, so that neither is favoured.
        """
        return -float(np.mean([state.now_deg for state in self.latest])) if self.states else None


@dataclass
class AngleLog:
    """Angles as frames come in: 40 bytes a frame, and its name.

    Parameters
    ----------
    panels : sequence of str
        Their names.
    """

    panels: Sequence[str] = ("",)
    _numbers: array[float] = field(default_factory=lambda: array("d"), repr=False)
    _names: list[str] = field(default_factory=list, repr=False)
    _latest: tuple[float, bool] | None = None

    def add(
        self,
        date_obs: str | None,
        angle_off_deg: float,
        *,
        upside_down: bool,
        mirrored: bool = False,
        panel: int = 0,
        turned: bool = False,
        name: str = "",
    ) -> None:
        """Add a frame; one without a date is left out."""
        day = date_number(date_obs)
        if day is not None:
            self._numbers.extend((day, angle_off_deg, float(upside_down), float(panel), float(turned)))
            self._names.append(name)
            self._latest = max(self._latest or (day, mirrored), (day, mirrored))

    def drift(self) -> Drift:
        """Return the drift of all frames so far."""
        table = np.array(self._numbers, dtype=float).reshape(-1, 5)
        order = np.argsort(table[:, 0], kind="stable")
        table = table[order]
        slips = find_slips(table[:, 0], table[:, 1], table[:, 2].astype(np.intp))
        states = tuple(_states(table, slips))
        changes = tuple(_changes(table, slips, [self._names[number] for number in order], self.panels))
        return Drift(states, None if self._latest is None else self._latest[1], changes)


def _states(table: NDArray[np.float64], slips: Sequence[Slip]) -> Iterator[PointingDrift]:
    """Return both states; what slips changed is added up for each frame, a slip that was undone counts as none."""
    jumped, so_far = np.zeros(len(table)), 0.0
    for slip in slips:
        so_far += slip.change_deg
        jumped[slip.first :] = so_far if abs(so_far) >= LEAST_SLIP_DEG else 0.0
    run = np.cumsum(np.isin(np.arange(len(table)), [slip.first for slip in slips]))
    for number, name in enumerate(STATES):
        own = table[:, 2] == number
        if own.any():
            yield _state_drift(name, table[own, 0], table[own, 1], jumped[own], run[own])


def _state_drift(
    state: State,
    days: NDArray[np.float64],
    angles: NDArray[np.float64],
    jumped: NDArray[np.float64],
    run: NDArray[np.int_],
) -> PointingDrift:
    latest = (days >= days[-1] - LATEST_DAYS) & (run == run[-1])
    creep = _creep(days[latest], angles[latest])
    chosen = angles[latest] if creep is None else angles[latest][-CREPT:]
    now = float(np.median(chosen))
    return PointingDrift(state, days, angles, now, _rate(days, angles - jumped), creep)


def _creep(days: NDArray[np.float64], angles: NDArray[np.float64]) -> float | None:
    """Degrees an hour by which the angle moves within a night; None where it stands as far as one can see."""
    if len(days) < LEAST_CREEPING or days[-1] <= days[0]:
        return None
    slope = _slope(days, angles)
    return slope / 24.0 if abs(slope * (days[-1] - days[0])) >= LEAST_SLIP_DEG else None


def _changes(
    table: NDArray[np.float64], slips: Sequence[Slip], names: Sequence[str], panels: Sequence[str]
) -> Iterator[AngleChange]:
    ends = [*(slip.first for slip in slips[1:]), len(table)]
    for slip, end in zip(slips, ends, strict=False):
        rows = table[slip.first : end]
        since = [
            PanelsSince(
                panels[panel], int((rows[:, 3] == panel).sum()), int(rows[rows[:, 3] == panel, 4].sum())
            )
            for panel in sorted({int(number) for number in rows[:, 3]})
        ]
        yield AngleChange(
            names[slip.first - 1],
            names[slip.first],
            float(table[slip.first - 1, 0]),
            float(table[slip.first, 0]),
            slip.change_deg,
            slip.at_flip,
            tuple(since),
        )


def _rate(days: NDArray[np.float64], angles: NDArray[np.float64]) -> float | None:
    """Degrees in 30 days; None within one night."""
    return None if days[-1] - days[0] < LEAST_SPAN_DAYS else 30.0 * _slope(days, angles)


def _slope(days: NDArray[np.float64], angles: NDArray[np.float64]) -> float:
    """Slope by the median of pairs, degrees a day; source: Sen 1968, J. Am. Stat. Assoc. 63, 1379."""
    from scipy.stats import theilslopes

    chosen = np.unique(np.linspace(0, len(days) - 1, MOST_FITTED).astype(int))
    with np.errstate(
        invalid="ignore"
    ):  # of its confidence interval, not asked for, where many dates are the same
        return float(theilslopes(angles[chosen], days[chosen]).slope)

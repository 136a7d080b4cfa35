"""When frames were exposed: what evenings came to, whatever the frames' verdicts."""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.night.clock import DAY_S
from planner.night.settings import YEARS

from .drift import date_number

__all__ = ["ShotLog", "Shots", "begun_s"]

YEAR_2000_S = 946684800.0
"""2000-01-01 0h UTC as POSIX seconds."""
NONE = -1


@dataclass(frozen=True, eq=False)
class Shots:
    """Frames that tell when they were taken, by time.

    Parameters
    ----------
    start_s : ndarray, shape (N,)
        POSIX seconds (UTC), sorted: the start of the exposure (DATE-OBS; FITS Standard 4.0, section 9.5).
    exposure_s : ndarray, shape (N,)
        As the header has it; where it has none, the plan's for that filter, or 0.
    panel : ndarray of int, shape (N,)
        Number of the panel, -1 where the frame shows none.
    filter : ndarray of int, shape (N,)
        Place in `filters`, -1 where the frame names none.
    solved : ndarray of bool, shape (N,)
        Whether its place on the sky is known: stars were seen.
    filters : tuple of str
    undated : int
        Frames that could be read but do not tell when they were taken.
    elsewhere : int
        Frames that are none of this plan's, which are left out.
    """

    start_s: NDArray[np.float64]
    exposure_s: NDArray[np.float64]
    panel: NDArray[np.intp]
    filter: NDArray[np.intp]
    solved: NDArray[np.bool_]
    filters: tuple[str, ...] = ()
    undated: int = 0
    elsewhere: int = 0

    def __len__(self) -> int:
        return len(self.start_s)

    @classmethod
    def none(cls) -> Shots:
        """No frame at all."""
        return ShotLog().shots()


def begun_s(date_obs: str | None) -> float | None:
    """POSIX seconds of a DATE-OBS; None where it is missing or makes no sense.

    >>> begun_s("2000-01-01T00:00:10"), begun_s("0001-01-01")
    (946684810.0, None)
    """
    days = date_number(date_obs)
    if days is None or not YEARS[0] <= 2000.0 + days / 365.25 < YEARS[1]:
        return None
    return YEAR_2000_S + days * DAY_S


@dataclass
class ShotLog:
    """Frames as they come in: 40 bytes a frame."""

    undated: int = 0
    elsewhere: int = 0
    _filters: dict[str, int] = field(default_factory=dict, repr=False)
    _numbers: array[float] = field(default_factory=lambda: array("d"), repr=False)

    def add(
        self,
        date_obs: str | None,
        exposure_s: float,
        *,
        panel: int | None,
        filter_name: str | None,
        solved: bool,
    ) -> None:
        """Add a frame that could be read."""
        start_s = begun_s(date_obs)
        if start_s is None:
            self.undated += 1
            return
        seconds = exposure_s if math.isfinite(exposure_s) and exposure_s > 0.0 else 0.0
        chosen = NONE if filter_name is None else self._filters.setdefault(filter_name, len(self._filters))
        place = NONE if panel is None else panel
        self._numbers.extend((start_s, seconds, place, chosen, float(solved)))

    def shots(self) -> Shots:
        """Return all frames so far, by time; of equal times in the order in which they came."""
        table = np.array(self._numbers, dtype=float).reshape(-1, 5)
        table = table[np.argsort(table[:, 0], kind="stable")]
        return Shots(
            table[:, 0],
            table[:, 1],
            table[:, 2].astype(np.intp),
            table[:, 3].astype(np.intp),
            table[:, 4] > 0.0,
            tuple(self._filters),
            self.undated,
            self.elsewhere,
        )

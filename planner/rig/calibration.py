"""Calibration: from solved frames and the readings they were taken at to the device's zero and sense.

A frame taken at reading R shows the position angle zero + sense * R, and 180 degrees more where the
telescope looks east.
Each frame so votes for a zero; the fit is the mean direction of the votes, which is the least-squares fit on
the circle (Mardia & Jupp, Directional Statistics, 2000, section 2.2). Of the two senses the one
whose votes agree better is the true one, provided that the readings differ.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from planner.errors import InputError
from planner.geometry.looking import Looking

from .angle_device import half_turn_deg

__all__ = ["Calibration", "ReadFrame", "calibrate"]

LEAST_TELLING_DEG = 1.0
"""If the votes of both senses agree to this, the readings lie too close together to tell the sense."""
OUTLIER_SIGMAS = 4.0
LEAST_OUTLIER_DEG = 0.5
"""A frame off by less is never called an outlier: a scale read by eye is no better."""
CONTRADICTION_DEG = 5.0
"""Frames that disagree by more than this cannot all be right."""
SIGMA_OF_MEDIAN = 1.4826
"""Standard deviation of a normal distribution in units of its median absolute deviation."""


@dataclass(frozen=True)
class ReadFrame:
    """A solved frame and the reading it was taken at.

    Parameters
    ----------
    name : str
    position_angle_deg : float
        Of the frame's up direction, degrees east of north.
    reading_deg : float
    looking : {'west', 'east'}
        To which side the telescope looked; west for a mount that does not flip.
    """

    name: str
    position_angle_deg: float
    reading_deg: float
    looking: Looking = "west"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.position_angle_deg) and abs(self.reading_deg) <= 1e5):
            raise InputError(
                f"the reading of {self.name} must be degrees on the scale, got {self.reading_deg}"
            )

    def zero_deg(self, sense: int) -> float:
        """Return the zero that this frame alone gives, degrees in [0, 360)."""
        angle = self.position_angle_deg - half_turn_deg(self.looking) - sense * self.reading_deg
        return angle % 360.0 % 360.0


@dataclass(frozen=True)
class Calibration:
    """The fitted scale.

    Parameters
    ----------
    zero_deg : float
        Position angle at reading 0 of a frame taken looking west, [0, 360).
    sense : {1, -1}
    sense_known : bool
        Whether the frames decided the sense; else it was taken as given.
    residuals_deg : tuple of float
        Each frame's position angle less the fit's, (-180, 180].
    outliers : tuple of str
        Frames left out of the fit, since they are off by far more than the others.
    scatter_deg : float or None
        Standard deviation of the frames in the fit about it (one fitted number); None below three frames.
    """

    zero_deg: float
    sense: int
    sense_known: bool
    residuals_deg: tuple[float, ...]
    outliers: tuple[str, ...] = ()
    scatter_deg: float | None = None

    @property
    def contradictory(self) -> bool:
        """Whether frames disagree by more than any scale is misread, with no telling which is wrong."""
        kept = sorted(self.residuals_deg, key=abs)[: len(self.residuals_deg) - len(self.outliers)]
        return len(kept) > 1 and max(kept) - min(kept) > CONTRADICTION_DEG


def calibrate(frames: Sequence[ReadFrame], *, sense: int = 1) -> Calibration:
    """Fit zero and sense to frames.

    Parameters
    ----------
    frames : sequence of ReadFrame
        At least one. One gives the zero; two with different readings the sense too; three show the scatter.
    sense : {1, -1}
        Taken where the frames cannot tell.

    >>> fit = calibrate([ReadFrame("a", 100.0, 10.0), ReadFrame("b", 70.0, 40.0)])
    >>> fit.zero_deg, fit.sense, fit.sense_known
    (110.0, -1, True)
    """
    if not frames:
        raise InputError("a calibration needs at least one solved frame with its reading, got none; take one")
    spread = {one: _spread(_votes(frames, one)) for one in (1, -1)}
    known = abs(spread[1] - spread[-1]) > LEAST_TELLING_DEG
    chosen = min(spread, key=lambda one: spread[one]) if known else sense
    return _fit(frames, chosen, known)


def _votes(frames: Sequence[ReadFrame], sense: int) -> list[float]:
    return [frame.zero_deg(sense) for frame in frames]


def _spread(votes: Sequence[float]) -> float:
    """Mean distance of the votes from their median direction, degrees."""
    middle = _median_direction(votes)
    return statistics.fmean(abs(_apart(vote, middle)) for vote in votes)


def _fit(frames: Sequence[ReadFrame], sense: int, known: bool) -> Calibration:
    votes = _votes(frames, sense)
    kept = _without_outliers(votes)
    zero = _mean_direction([votes[index] for index in kept])
    residuals = tuple(_apart(vote, zero) for vote in votes)
    outliers = tuple(frame.name for index, frame in enumerate(frames) if index not in kept)
    scatter = None
    if len(frames) >= 3:
        squares = sum(residuals[index] ** 2 for index in kept)
        scatter = math.sqrt(squares / max(1, len(kept) - 1))
    return Calibration(zero, sense, known, residuals, outliers, scatter)


def _without_outliers(votes: Sequence[float]) -> list[int]:
    """Return the indices of the votes that agree; with fewer than three nobody can tell who is wrong."""
    if len(votes) < 3:
        return list(range(len(votes)))
    middle = _median_direction(votes)
    off = [abs(_apart(vote, middle)) for vote in votes]
    limit = max(LEAST_OUTLIER_DEG, OUTLIER_SIGMAS * SIGMA_OF_MEDIAN * statistics.median(off))
    return [index for index, value in enumerate(off) if value <= limit]


def _median_direction(votes: Sequence[float]) -> float:
    """Return the vote with the least total distance to all others."""
    return min(votes, key=lambda vote: sum(abs(_apart(other, vote)) for other in votes))


def _mean_direction(votes: Sequence[float]) -> float:
    """Direction of the sum of the votes' unit vectors, degrees in [0, 360)."""
    sin = sum(math.sin(math.radians(vote)) for vote in votes)
    cos = sum(math.cos(math.radians(vote)) for vote in votes)
    return math.degrees(math.atan2(sin, cos)) % 360.0 % 360.0


def _apart(angle_deg: float, other_deg: float) -> float:
    return math.remainder(angle_deg - other_deg, 360.0)

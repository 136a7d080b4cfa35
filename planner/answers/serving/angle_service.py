"""All that is to be known of one camera angle for many targets, in one value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from numpy.typing import ArrayLike

from planner.rig.angle_device import AngleDevice

from .best_angles import BestAngles, best_rows, candidates
from .cells import cells_of
from .changes import Change, changes_beside
from .fitting_angles import FittingAngles
from .served_curve import ServedCurve, curve_over
from .turn_evening import TurnEvening, best_turn_evening

__all__ = ["AngleService", "serve_most"]


@dataclass(frozen=True, eq=False)
class AngleService:
    """What angles serve.

    Parameters
    ----------
    fitting : FittingAngles
        The targets, their angles, what each counts for.
    device : AngleDevice or None
    curve : ServedCurve
        What every angle serves.
    best : tuple of BestAngles
        One, two and three angles; fewer rows where fewer can be set.
    now_deg : float or None
        The camera's present position angle.
    reading_deg : float or None
        The device's present reading.
    turn : TurnEvening or None
        The best evening to turn once, where hours were given.
    now_called : {'now', 'looked at'}
        What words call the present angle: the camera's, or one that is only looked at.
    """

    fitting: FittingAngles
    device: AngleDevice | None
    curve: ServedCurve
    best: tuple[BestAngles, ...]
    now_deg: float | None
    reading_deg: float | None
    turn: TurnEvening | None
    now_called: Literal["now", "looked at"] = "now"

    def served_at(self, angle_deg: float) -> float:
        """Sum of weights at an angle."""
        return self.fitting.served_by([angle_deg])

    def targets_at(self, angle_deg: float) -> int:
        """How many targets fit at an angle."""
        return int(self.fitting.holds(angle_deg).sum())

    def reading_at(self, angle_deg: float) -> float | None:
        """Reading that shows an angle, of several the nearest to the present one or to 0; None where none does."""
        if self.device is None:
            return None
        readings = self.device.readings_for(angle_deg, period_deg=self.fitting.period_deg)
        start = self.reading_deg or 0.0
        return min(readings, key=lambda one: (abs(one - start), one), default=None)

    def changes(self, angle_deg: float) -> tuple[Change, ...]:
        """Who is lost and won on either side of an angle, the nearest first."""
        return changes_beside(self.fitting, angle_deg)


def serve_most(
    fitting: FittingAngles,
    device: AngleDevice | None = None,
    *,
    now_deg: float | None = None,
    reading_deg: float | None = None,
    evening_hours: ArrayLike | None = None,
) -> AngleService:
    """Return what every angle serves, and which one, two and three serve most.

    Parameters
    ----------
    fitting : FittingAngles
    device : AngleDevice, optional
        Only its divisions within its travel are chosen. A fixed camera has one angle, which is its present one.
    now_deg : float, optional
        The present position angle, degrees east of north.
    reading_deg : float, optional
        The present reading, which says the present angle too.
    evening_hours : array_like, shape (N, E), optional
        Hours of each target on each evening, for the evening to turn.

    Raises
    ------
    InputError
        If no division lies within the device's travel.

    >>> fitting = FittingAngles(("A", "B"), (((0.0, 10.0),), ((90.0, 100.0),)), (1.0, 1.0), 180.0)
    >>> [(row.angles_deg, row.served) for row in serve_most(fitting).best[:2]]
    [((5.0,), 1.0), ((5.0, 95.0), 2.0)]
    """
    fixed = device is not None and device.kind == "fixed"
    if device is not None:
        reading_deg = 0.0 if fixed else reading_deg
        if reading_deg is not None:
            now_deg = device.position_angle_of(reading_deg) % fitting.period_deg
        elif now_deg is not None:
            reading_deg = _nearest_to_zero(device, now_deg, fitting.period_deg)
    cells = cells_of(fitting)
    some = candidates(cells, device)
    turn = None
    if evening_hours is not None and not fixed:
        turn = best_turn_evening(fitting, evening_hours, device, start_deg=reading_deg)
    return AngleService(
        fitting=fitting,
        device=device,
        curve=curve_over(cells, fitting),
        best=best_rows(fitting, cells, some, device, start_deg=reading_deg),
        now_deg=now_deg,
        reading_deg=reading_deg,
        turn=turn,
    )


def _nearest_to_zero(device: AngleDevice, angle_deg: float, period_deg: float) -> float:
    """Return the reading of an angle; of several within the travel the nearest to 0."""
    readings = device.readings_for(angle_deg, period_deg=period_deg)
    return min(readings, key=lambda one: (abs(one), one), default=device.reading_of(angle_deg))

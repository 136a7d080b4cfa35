"""What camera angles cost: values of the curve of panels and overlap against angle."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["AngleCount", "AngleCurve"]


@dataclass(frozen=True)
class AngleCount:
    """What one camera angle costs.

    Parameters
    ----------
    position_angle_deg : float
        In [0, period).
    past_deg : float
        How far from the start of the angles, at least 0.
    panels : int
        Of the plan at this angle; where it has not been planned an estimate from sliding rows, which take every
        panel as parallel to one frame: where meridians converge plans can need one or two more, near a pole many.
    overlap_found : float, optional
        Of the plan: the guaranteed overlap, a fraction of the field.
    falls_short : bool
        Whether the plan leaves a gap or gives less than was asked.
    estimate : int, optional
        What was counted before the angle was planned.
    """

    position_angle_deg: float
    past_deg: float
    panels: int
    overlap_found: float | None = None
    falls_short: bool = False
    estimate: int | None = None

    @property
    def proven(self) -> bool:
        """Whether the angle has really been planned."""
        return self.overlap_found is not None

    @property
    def rank(self) -> tuple[bool, int, bool, float]:
        """Smaller is better: what was asked is given, the fewest panels, planned, the most overlap."""
        return self.falls_short, self.panels, not self.proven, -round(self.overlap_found or 0.0, 9)


@dataclass(frozen=True)
class AngleCurve:
    """Panels and overlap against camera angle.

    Parameters
    ----------
    title : str
    angles : tuple of AngleCount
        In steps of a degree, from the start of the range on.
    start_deg, period_deg : float
        The first angle as it was asked; 180, or 90 for a square sensor.
    asked_deg : float, optional
        Angle of `angles` nearest to the one that the request names for its panels or its picture.
    near_pole : bool
        Whether meridians converge so much over the region that estimates can be too low by more than a panel.
    waiting : int
        Plans that are still to be made; 0 once the curve is done, or left as it is.
    """

    title: str
    angles: tuple[AngleCount, ...]
    start_deg: float
    period_deg: float
    asked_deg: float | None = None
    near_pole: bool = False
    waiting: int = 0

    @property
    def best(self) -> AngleCount:
        """The best angle: of the planned ones, once the curve is done and any is planned."""
        planned = [one for one in self.angles if one.proven]
        return min(planned if planned and not self.waiting else self.angles, key=lambda one: one.rank)

    @property
    def asked(self) -> AngleCount | None:
        """The angle that the request names, if it names one within the range."""
        return next((one for one in self.angles if one.position_angle_deg == self.asked_deg), None)

    @property
    def off_estimate(self) -> tuple[int, int] | None:
        """How many panels plans need more than estimated, least and most (negative: fewer); None before any."""
        off = [
            one.panels - one.estimate
            for one in self.angles
            if one.proven and not one.falls_short and one.estimate is not None
        ]
        return (min(off), max(off)) if off else None

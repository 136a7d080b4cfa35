"""Panels and overlap against camera angle, as values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from planner.geometry import wrapped_deg
from planner.rig.turn import LEAST_TURN_DEG

__all__ = ["AngleCount", "AngleCurve"]

ALIKE_DECIMALS = 4
"""Overlaps that differ by less than a hundredth of a per cent are alike."""


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
        panel as parallel to all others: where meridians converge plans can need one or two more, near a pole many.
    overlap_found : float, optional
        Of the plan: the guaranteed overlap, a fraction of the field.
    falls_short : bool
        Whether the plan leaves a gap or gives less than was asked.
    estimate : int, optional
        What was counted before the angle was planned.
    is_found : bool
        Whether `make_plan` finds this angle by itself.
    """

    position_angle_deg: float
    past_deg: float
    panels: int
    overlap_found: float | None = None
    falls_short: bool = False
    estimate: int | None = None
    is_found: bool = False

    @property
    def proven(self) -> bool:
        """Whether the angle has really been planned."""
        return self.overlap_found is not None

    @property
    def counted(self) -> int:
        """The estimate from rows."""
        return self.panels if self.estimate is None else self.estimate

    @property
    def rank(self) -> tuple[bool, int, bool, float, bool, float]:
        """Smaller is better: what was asked is given, the fewest panels, planned, the most overlap.

        Where overlaps are alike, the angle that a plan finds by itself is the best.
        """
        overlap = self.overlap_found or 0.0
        alike = -round(overlap, ALIKE_DECIMALS)
        return self.falls_short, self.panels, not self.proven, alike, not self.is_found, -round(overlap, 9)


@dataclass(frozen=True)
class AngleCurve:
    """Panels and overlap against camera angle.

    Parameters
    ----------
    title : str
    angles : tuple of AngleCount
        In steps of a degree, from the start of the range on, and between them what `make_plan` takes.
    start_deg, period_deg : float
        The first angle as it was asked; 180, or 90 for a square sensor.
    asked_deg : float, optional
        Angle of `angles` nearest to the one that the request names for its panels or its picture; itself, where
        it is among them.
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

    @cached_property
    def likely(self) -> tuple[int, ...]:
        """Panels at each angle: planned, or the estimate moved by what plans at angles beside needed more or fewer.

        The difference is interpolated between planned angles: so one line goes through all plans. None of it promises
        fewer panels than the best plan has, unless its own estimate does.
        """
        given = [one for one in self.angles if one.proven and not one.falls_short]
        if not given:
            return tuple(one.counted for one in self.angles)
        past = np.array([one.past_deg for one in self.angles])
        off = [float(one.panels - one.counted) for one in given]
        whole = len(past) > 1 and past[-1] + np.diff(past).max() >= self.period_deg
        moved = np.interp(
            past, [one.past_deg for one in given], off, period=self.period_deg if whole else None
        )
        counted = np.array([one.counted for one in self.angles])
        least = np.minimum(counted, min(one.panels for one in given))
        least[[one.proven for one in self.angles]] = 1
        found = np.maximum(least, np.floor(counted + moved + 0.5))
        return tuple(found.astype(int).tolist())

    @cached_property
    def doubtful(self) -> tuple[bool, ...]:
        """Where `likely` promises fewer panels than any plan has: nothing there is planned."""
        fewest = min((one.panels for one in self.angles if one.proven and not one.falls_short), default=0)
        return tuple(count < fewest for count in self.likely)

    def with_plan(self, angle_deg: float, panels: int, overlap_found: float) -> AngleCurve:
        """Return the curve with a plan that was made at one of its angles; at others it is as it was.

        Parameters
        ----------
        angle_deg : float
            Of the plan, degrees.
        panels : int
        overlap_found : float
            A fraction of the field; the plan gives what was asked.
        """
        for k, one in enumerate(self.angles):
            off = abs(wrapped_deg(angle_deg - one.position_angle_deg, self.period_deg))
            if off < LEAST_TURN_DEG and (not one.proven or panels < one.panels):
                made = replace(
                    one, panels=panels, overlap_found=overlap_found, falls_short=False, estimate=one.counted
                )
                return replace(self, angles=(*self.angles[:k], made, *self.angles[k + 1 :]))
        return self

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

"""Planets and the Moon inside or near panels: they wander through wide fields near the ecliptic.

Planets from `erfa.plan94` (Simon et al. 1994, Astron. Astrophys. 282, 663; within 1.5 arc minutes), with
light-time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .almanac import LIGHT_DAY_AU, Almanac
from .clock import POSIX_JD, tt_days
from .spans import common
from .survey import SiteEvening, Survey

__all__ = ["MOON_MARGIN_DEG", "PLANETS", "PLANET_MARGIN_DEG", "Wanderer", "find_wanderers", "planet_vector"]

PLANETS = {"Mercury": 1, "Venus": 2, "Mars": 4, "Jupiter": 5, "Saturn": 6, "Uranus": 7, "Neptune": 8}
"""Names and numbers in `erfa.plan94`."""
PLANET_MARGIN_DEG = 1.0
"""So far beyond a panel's corner a planet is near: its glare may reach in (common practice, no source)."""
MOON_MARGIN_DEG = 10.0
"""The same for the Moon."""


@dataclass(frozen=True)
class Wanderer:
    """A body inside or near a panel on an evening.

    Parameters
    ----------
    night : int
        Index of the survey's evening.
    panel : int
    body : str
    separation_deg : float
        From the panel's centre; the Moon's least over the panel's windows.
    """

    night: int
    panel: int
    body: str
    separation_deg: float


def planet_vector(name: str, time_s: float, almanac: Almanac) -> NDArray[np.float64]:
    """Give the unit vector to a planet, ICRS (without aberration, 20 arc seconds), geocentric, shape (3,)."""
    import erfa

    number, earth = PLANETS[name], almanac.earth(np.asarray(time_s))
    tt, delay_days = float(tt_days(time_s)), 0.0
    for _ in range(2):
        away = erfa.plan94(POSIX_JD, tt - delay_days, number)["p"] - earth
        delay_days = float(np.linalg.norm(away)) / LIGHT_DAY_AU
    return np.asarray(away / np.linalg.norm(away))


def find_wanderers(survey: Survey) -> tuple[Wanderer, ...]:
    """Find bodies inside or near panels on the evenings on which these can be shot, by evening.

    The Moon counts while it is up in a panel's windows; planets are taken at the middle of the night.
    """
    vectors = survey.targets.vectors
    found: list[Wanderer] = []
    for night, one in enumerate(survey.evenings):
        panels = np.unique(one.sight.panel)
        for name in PLANETS if len(panels) else ():
            cosine = vectors[panels] @ planet_vector(name, one.evening.middle_s, survey.almanac)
            apart = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
            near = np.flatnonzero(apart <= survey.targets.radius_deg + PLANET_MARGIN_DEG)
            found += [Wanderer(night, int(panels[row]), name, float(apart[row])) for row in near]
        found += _moon_near(night, one, survey.targets.radius_deg + MOON_MARGIN_DEG)
    return tuple(found)


def _moon_near(night: int, one: SiteEvening, limit_deg: float) -> list[Wanderer]:
    apart = one.sight.least_moon_separation_deg
    return [
        Wanderer(night, panel, "the Moon", float(apart[panel]))
        for panel in np.flatnonzero(apart <= limit_deg).tolist()
        if common(one.sight.windows_of(panel), one.evening.moon_s)
    ]

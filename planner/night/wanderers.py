"""Planets and the Moon inside or near panels: they wander through wide fields near the ecliptic.

Planets from `erfa.plan94` (Simon et al. 1994, Astron. Astrophys. 282, 663; within an arc minute), with light-time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .almanac import LIGHT_DAY_AU, Almanac
from .clock import DAY_S, POSIX_JD, tt_days
from .evening import moon_vector_km
from .survey import Survey

__all__ = ["MOON_MARGIN_DEG", "PLANETS", "PLANET_MARGIN_DEG", "Wanderer", "find_wanderers", "planet_vector"]

PLANETS = {"Mercury": 1, "Venus": 2, "Mars": 4, "Jupiter": 5, "Saturn": 6, "Uranus": 7, "Neptune": 8}
"""Names and numbers in `erfa.plan94`."""
PLANET_MARGIN_DEG = 1.0
"""A planet so far beyond a panel's corner is near: its glare reaches the field (common practice, no source)."""
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
        From the panel's centre.
    """

    night: int
    panel: int
    body: str
    separation_deg: float


def planet_vector(name: str, time_s: float, almanac: Almanac) -> NDArray[np.float64]:
    """Unit vector to a planet, ICRS (without aberration, 20 arc seconds), geocentric, shape (3,)."""
    import erfa

    number, earth = PLANETS[name], almanac.earth(np.asarray(time_s))
    tt, delay_days = float(tt_days(time_s)), 0.0
    for _ in range(2):
        away = erfa.plan94(POSIX_JD, tt - delay_days, number)["p"] - earth
        delay_days = float(np.linalg.norm(away)) / LIGHT_DAY_AU
    return np.asarray(away / np.linalg.norm(away))


def find_wanderers(survey: Survey, shots: Sequence[tuple[int, int, float]]) -> tuple[Wanderer, ...]:
    """Find bodies inside or near panels.

    Parameters
    ----------
    shots : sequence of (night, panel, POSIX seconds)
        When panels are looked at; a panel and body is told once a night, at its nearest.
    """
    vectors = survey.targets.vectors
    nearest: dict[tuple[int, int, str], float] = {}
    planets: dict[tuple[str, int], NDArray[np.float64]] = {}
    for night, panel, time_s in shots:
        for body, place, margin in _bodies(survey, night, time_s, planets):
            apart = float(np.degrees(np.arccos(np.clip(place @ vectors[panel], -1.0, 1.0))))
            if apart <= survey.targets.radius_deg + margin:
                key = (night, panel, body)
                nearest[key] = min(apart, nearest.get(key, apart))
    return tuple(Wanderer(*key, apart) for key, apart in sorted(nearest.items()))


def _bodies(
    survey: Survey, night: int, time_s: float, known: dict[tuple[str, int], NDArray[np.float64]]
) -> list[tuple[str, NDArray[np.float64], float]]:
    """Names, unit vectors and margins of the bodies at an instant (planets: once for each day)."""
    day = int(time_s // DAY_S)
    for name in PLANETS:
        if (name, day) not in known:
            known[name, day] = planet_vector(name, (day + 0.5) * DAY_S, survey.almanac)
    found = [(name, known[name, day], PLANET_MARGIN_DEG) for name in PLANETS]
    evening = survey.evenings[night].evening
    if any(start <= time_s <= end for start, end in evening.moon_s):
        observer = survey.observers[evening.site]
        moon = moon_vector_km(np.asarray(time_s), observer, survey.almanac, evening.axes)
        found.append(("the Moon", moon / np.linalg.norm(moon), MOON_MARGIN_DEG))
    return found

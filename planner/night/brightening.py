"""Panels of a survey at an instant: how high, how far from the Moon, how bright the sky in its light."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .evening import moon_vector_km
from .moonlight import moon_phase_angle_deg, moonlight_mag
from .observer import above_horizon_deg
from .survey import Survey

__all__ = ["altitude_deg", "brightening_mag", "moon_separation_deg"]

Values = NDArray[np.float64]


def altitude_deg(survey: Survey, night: int, panels: ArrayLike, time_s: ArrayLike) -> Values:
    """Geometric altitudes of panels' centres, degrees.

    Parameters
    ----------
    night : int
        Index of the survey's evening.
    panels : array_like of int, shape (...)
    time_s : array_like, shape (...)
        POSIX seconds on that evening.
    """
    evening = survey.evenings[night].evening
    stars = survey.almanac.apparent(survey.targets.vectors[np.asarray(panels)], evening.middle_s)
    zenith = survey.observers[evening.site].zenith(time_s, evening.axes)
    return above_horizon_deg(stars, zenith)


def moon_separation_deg(survey: Survey, night: int, panels: ArrayLike, time_s: ArrayLike) -> Values:
    """Angles between panels' centres and the topocentric Moon, degrees; parameters as for `altitude_deg`."""
    stars, moon = survey.targets.vectors[np.asarray(panels)], _moon(survey, night, time_s)
    return np.asarray(np.degrees(np.arccos(np.clip(np.sum(stars * moon, axis=-1), -1.0, 1.0))))


def brightening_mag(survey: Survey, night: int, panels: ArrayLike, time_s: ArrayLike) -> Values:
    """By how many magnitudes (V) moonlight brightens the sky at panels; 0 while the Moon is down.

    Parameters as for `altitude_deg`.
    """
    evening = survey.evenings[night].evening
    zenith = survey.observers[evening.site].zenith(time_s, evening.axes)
    phase = float(moon_phase_angle_deg(evening.moon_illumination))
    moon_altitude = above_horizon_deg(_moon(survey, night, time_s), zenith)
    panel_altitude = np.maximum(altitude_deg(survey, night, panels, time_s), 0.0)
    separation = moon_separation_deg(survey, night, panels, time_s)
    return moonlight_mag(panel_altitude, moon_altitude, separation, phase)


def _moon(survey: Survey, night: int, time_s: ArrayLike) -> Values:
    """Topocentric unit vectors, shape (..., 3)."""
    evening = survey.evenings[night].evening
    observer, time = survey.observers[evening.site], np.asarray(time_s, dtype=float)
    moon = moon_vector_km(time, observer, survey.almanac, evening.axes)
    return np.asarray(moon / np.linalg.norm(moon, axis=-1, keepdims=True))

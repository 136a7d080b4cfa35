"""Moonlight on the sky, and airmass.

Source of the model: Krisciunas & Schaefer 1991, PASP 103, 1033 (V band, cloudless; its authors state 8 to 23
per cent). Its own airmass (their equation 3) serves only inside it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "DARK_ZENITH_NL",
    "EXTINCTION",
    "airmass",
    "dark_sky_nl",
    "moon_phase_angle_deg",
    "moonlight_mag",
    "moonlight_nl",
]

EXTINCTION = 0.172
"""Magnitudes an airmass in V at a high site (their value for Mauna Kea)."""
DARK_ZENITH_NL = 79.0
"""Dark sky at the zenith, nanolamberts (their value): 21.6 magnitudes a square arc second."""

Values = NDArray[np.float64]


def airmass(altitude_deg: ArrayLike) -> Values:
    """Airmass at true (geometric) altitudes in degrees, 0 to 90, at least 1.

    Source: Young 1994, Applied Optics 33, 1108: a fit made for the true zenith distance, refraction allowed for.

    >>> round(float(airmass(30.0)), 5)
    1.99173
    """
    up = np.sin(np.radians(np.asarray(altitude_deg, dtype=float)))
    over = (1.002432 * up + 0.148386) * up + 0.0096467
    under = ((up + 0.149864) * up + 0.0102963) * up + 0.000303978
    return np.asarray(np.maximum(1.0, over / under))


def scattering_path(altitude_deg: ArrayLike) -> Values:
    """Optical path of scattered light at altitudes in degrees, in airmasses (equation 3)."""
    return np.asarray((1.0 - 0.96 * np.cos(np.radians(altitude_deg)) ** 2) ** -0.5)


def dark_sky_nl(altitude_deg: ArrayLike) -> Values:
    """Brightness of the moonless sky at altitudes in degrees, nanolamberts (equation 2)."""
    path = scattering_path(altitude_deg)
    return np.asarray(DARK_ZENITH_NL * path * 10.0 ** (-0.4 * EXTINCTION * (path - 1.0)))


def moon_phase_angle_deg(lit: ArrayLike) -> Values:
    """Phase angle of a Moon whose disc is lit to a share in [0, 1], degrees, 0 when full.

    >>> float(moon_phase_angle_deg(0.5))
    90.0
    """
    return np.asarray(np.degrees(np.arccos(np.clip(2.0 * np.asarray(lit) - 1.0, -1.0, 1.0))))


def moonlight_nl(
    altitude_deg: ArrayLike,
    moon_altitude_deg: ArrayLike,
    separation_deg: ArrayLike,
    phase_angle_deg: ArrayLike,
    *,
    extinction: float = EXTINCTION,
) -> Values:
    """Brightness that the Moon adds to the sky, nanolamberts; 0 while it is down (equations 15, 20, 21).

    Parameters
    ----------
    altitude_deg, moon_altitude_deg : array_like
        Of the place looked at and of the Moon.
    separation_deg : array_like
        Angle between them.
    phase_angle_deg : array_like
        Between Sun and Earth as seen from the Moon: 0 at full moon, in [0, 180].
    """
    phase = np.abs(phase_angle_deg)
    separation = np.asarray(separation_deg, dtype=float)
    source = 10.0 ** (-0.4 * (3.84 + 0.026 * phase + 4e-9 * phase**4))
    rayleigh = 10.0**5.36 * (1.06 + np.cos(np.radians(separation)) ** 2)
    mie = 10.0 ** (6.15 - separation / 40.0)
    to_moon = 10.0 ** (-0.4 * extinction * scattering_path(moon_altitude_deg))
    scattered = 1.0 - 10.0 ** (-0.4 * extinction * scattering_path(altitude_deg))
    light = (rayleigh + mie) * source * to_moon * scattered
    return np.where(np.asarray(moon_altitude_deg) > 0.0, light, 0.0)


def moonlight_mag(
    altitude_deg: ArrayLike,
    moon_altitude_deg: ArrayLike,
    separation_deg: ArrayLike,
    phase_angle_deg: ArrayLike,
) -> Values:
    """By how many magnitudes moonlight brightens the sky at a place, at least 0; parameters as above."""
    moon = moonlight_nl(altitude_deg, moon_altitude_deg, separation_deg, phase_angle_deg)
    return np.asarray(2.5 * np.log10(1.0 + moon / dark_sky_nl(altitude_deg)))

"""Sun, Moon and the Earth's motion over a season, from pyerfa on nodes a few hours apart.

Every direction is a vector along the axes of the ICRS, as a geocentric observer sees it (light-time and
aberration applied, no deflection of light, no refraction). Nodes stand six hours apart and are joined by
cubic Hermite curves (the ephemerides give velocities); that costs less than 0.1 arc seconds.

Sources: the Earth from `erfa.epv00` (VSOP2000, Moisson & Bretagnon), the Moon from `erfa.moon98` (ELP2000-85
in Meeus' form, about 10 arc seconds), precession and nutation IAU 2006/2000A from `erfa.c2i06a`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .clock import DAY_S, POSIX_JD, tt_days

__all__ = ["AU_KM", "Almanac", "illuminated_fraction", "make_almanac"]

AU_KM = 149597870.7
LIGHT_DAY_AU = 173.14463267424034
"""Way of light in a day, astronomical units."""
NODE_S = 21600.0

Vectors = NDArray[np.float64]
Curve = Callable[[NDArray[np.float64]], Vectors]


@dataclass(frozen=True)
class Almanac:
    """Curves over a season; make it with `make_almanac`.

    Parameters
    ----------
    first_s, last_s : float
        The span that the curves cover, POSIX seconds.
    earth : callable
        Heliocentric position of the Earth, astronomical units, shape (..., 3).
    velocity : callable
        The Earth's barycentric velocity in units of light's, shape (..., 3).
    moon_km : callable
        Apparent geocentric position of the Moon, kilometres, shape (..., 3).
    """

    first_s: float
    last_s: float
    earth: Curve
    velocity: Curve
    moon_km: Curve

    def sun_km(self, time_s: ArrayLike) -> Vectors:
        """Apparent geocentric position of the Sun, kilometres, shape (..., 3)."""
        time = np.asarray(time_s, dtype=float)
        away = -self.earth(time)
        distance = np.linalg.norm(away, axis=-1, keepdims=True)
        return np.asarray(AU_KM * distance * _aberrated(away / distance, self.velocity(time)))

    def apparent(self, vector: ArrayLike, time_s: float) -> Vectors:
        """Apparent unit vectors of far objects at one instant.

        Parameters
        ----------
        vector : array_like, shape (..., 3)
            Unit vectors, ICRS.
        """
        return _aberrated(np.asarray(vector, dtype=float), self.velocity(np.asarray(time_s)))


def make_almanac(first_s: float, last_s: float) -> Almanac:
    """Compute the nodes for a span of POSIX seconds.

    The Moon's light-time: `erfa.moon98` gives its geometric place; seen from the moving Earth the apparent
    place is the geocentric one of 1.3 s earlier (light-time and aberration as seen from the Sun cancel).
    """
    import erfa
    from scipy.interpolate import CubicHermiteSpline

    nodes = np.arange(first_s - NODE_S, last_s + 2 * NODE_S, NODE_S)
    tt = tt_days(nodes)
    earth, barycentric = erfa.epv00(POSIX_JD, tt)
    moon = erfa.moon98(POSIX_JD, tt)
    delay = np.linalg.norm(moon["p"], axis=-1, keepdims=True) / LIGHT_DAY_AU
    position = (moon["p"] - delay * moon["v"]) * AU_KM
    return Almanac(
        first_s,
        last_s,
        CubicHermiteSpline(nodes, earth["p"], earth["v"] / DAY_S),
        CubicHermiteSpline(nodes, barycentric["v"] / LIGHT_DAY_AU, _slope(barycentric["v"] / LIGHT_DAY_AU)),
        CubicHermiteSpline(nodes, position, moon["v"] * AU_KM / DAY_S),
    )


def illuminated_fraction(moon_km: ArrayLike, sun_km: ArrayLike) -> NDArray[np.float64]:
    """Illuminated part of the Moon's disc as seen from the origin of both vectors, in [0, 1].

    Source: Meeus, Astronomical Algorithms (2nd ed.), equations 48.1 and 48.3, in vector form.

    Parameters
    ----------
    moon_km, sun_km : array_like, shape (..., 3)
    """
    moon, sun = np.asarray(moon_km, dtype=float), np.asarray(sun_km, dtype=float)
    to_sun = sun - moon
    lengths = np.linalg.norm(moon, axis=-1) * np.linalg.norm(to_sun, axis=-1)
    return np.asarray((1.0 - np.sum(moon * to_sun, axis=-1) / lengths) / 2.0)


def _slope(values: Vectors) -> Vectors:
    return np.gradient(values, NODE_S, axis=0, edge_order=2)


def _aberrated(direction: Vectors, velocity: Vectors) -> Vectors:
    """Turn unit vectors by the observer's velocity, to first order (second order: 0.001 arc seconds)."""
    moved = direction + velocity
    return np.asarray(moved / np.linalg.norm(moved, axis=-1, keepdims=True))

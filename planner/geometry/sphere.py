"""Unit vectors, directions and angles on the sphere.

Axes: x towards (0, 0), y towards (90, 0), z towards the north celestial pole; right-handed.
Everything is vectorised over leading dimensions; nothing is special at the poles or at right ascension 0.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "east_north",
    "position_angle_deg",
    "separation_rad",
    "sky_to_vector",
    "triangle_area_sr",
    "vector_to_sky",
]

Vectors = NDArray[np.float64]


def sky_to_vector(ra_deg: ArrayLike, dec_deg: ArrayLike) -> Vectors:
    """Unit vectors of sky positions; inverse of `vector_to_sky`.

    Parameters
    ----------
    ra_deg, dec_deg : array_like, shape (...)
        Right ascension (any turn) and declination in [-90, 90], ICRS, degrees.

    Returns
    -------
    ndarray, shape (..., 3)

    >>> sky_to_vector(90.0, 0.0).round(12).tolist()
    [0.0, 1.0, 0.0]
    """
    ra, dec = np.radians(ra_deg), np.radians(dec_deg)
    return np.stack(
        np.broadcast_arrays(np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)), axis=-1
    )


def vector_to_sky(vector: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right ascension in [0, 360) and declination, degrees, of vectors of any length.

    Inverse of `sky_to_vector`.

    Parameters
    ----------
    vector : array_like, shape (..., 3)

    >>> [float(x) for x in vector_to_sky([0.0, -2.0, 0.0])]
    [270.0, 0.0]
    """
    x, y, z = np.moveaxis(np.asarray(vector, dtype=float), -1, 0)
    ra_deg = np.degrees(np.arctan2(y, x)) % 360.0
    return np.where(ra_deg >= 360.0, 0.0, ra_deg), np.degrees(np.arctan2(z, np.hypot(x, y)))


def east_north(ra_deg: ArrayLike, dec_deg: ArrayLike) -> tuple[Vectors, Vectors]:
    """Unit vectors towards east and north at sky positions, each of shape (..., 3).

    At a pole the meridian of the stated right ascension decides.
    """
    ra, dec = np.broadcast_arrays(np.radians(ra_deg), np.radians(dec_deg))
    east = np.stack([-np.sin(ra), np.cos(ra), np.zeros_like(ra)], axis=-1)
    north = np.stack([-np.sin(dec) * np.cos(ra), -np.sin(dec) * np.sin(ra), np.cos(dec)], axis=-1)
    return east, north


def separation_rad(first: ArrayLike, second: ArrayLike) -> NDArray[np.float64]:
    """Angle between vectors in [0, pi], radians, by arctan2 (exact for tiny and for opposite vectors).

    Parameters
    ----------
    first, second : array_like, shape (..., 3)
    """
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    cross = np.linalg.norm(np.cross(a, b), axis=-1)
    return np.asarray(np.arctan2(cross, np.sum(a * b, axis=-1)))


def position_angle_deg(
    ra_deg: ArrayLike, dec_deg: ArrayLike, to_ra_deg: ArrayLike, to_dec_deg: ArrayLike
) -> NDArray[np.float64]:
    """Position angle of the second position seen from the first, degrees east of north, [0, 360).

    Source: Meeus, Astronomical Algorithms (2nd ed.), chapter 17, in vector form.

    >>> round(float(position_angle_deg(0, 0, 1, 0)), 9)
    90.0
    """
    east, north = east_north(ra_deg, dec_deg)
    target = sky_to_vector(to_ra_deg, to_dec_deg)
    angle = np.degrees(np.arctan2(np.sum(target * east, axis=-1), np.sum(target * north, axis=-1)))
    return np.asarray(angle % 360.0)


def wrapped_deg(angle_deg: ArrayLike, period_deg: float = 360.0) -> NDArray[np.float64]:
    """Angles brought into [-period / 2, period / 2) by whole periods, degrees.

    >>> float(wrapped_deg(350.0)), float(wrapped_deg(100.0, 180.0))
    (-10.0, -80.0)
    """
    half = period_deg / 2
    return np.asarray((np.asarray(angle_deg, dtype=float) + half) % period_deg - half)


def triangle_area_sr(a: ArrayLike, b: ArrayLike, c: ArrayLike) -> NDArray[np.float64]:
    """Signed area of spherical triangles, steradians; positive when counter-clockwise seen from outside.

    Source: van Oosterom & Strackee 1983, IEEE Trans. Biomed. Eng. BME-30, 125.

    Parameters
    ----------
    a, b, c : array_like, shape (..., 3)
        Unit vectors of the corners.
    """
    a, b, c = (np.asarray(v, dtype=float) for v in (a, b, c))
    triple = np.sum(a * np.cross(b, c), axis=-1)
    one_plus = 1.0 + np.sum(a * b, axis=-1) + np.sum(b * c, axis=-1) + np.sum(c * a, axis=-1)
    return np.asarray(2.0 * np.arctan2(triple, one_plus))

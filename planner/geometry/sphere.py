"""Unit vectors, directions and angles on the sphere.

Axes: x towards (0, 0), y towards (90, 0), z towards the north celestial pole; right-handed.
Everything is vectorised over leading dimensions; nothing is special at the poles or at right ascension 0.
"""

from __future__ import annotations

from typing import Any, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from . import steady

__all__ = [
    "east_north",
    "east_north_at",
    "position_angle_deg",
    "separation_rad",
    "sky_to_vector",
    "triangle_area_sr",
    "vector_to_sky",
    "wrapped_deg",
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
    (cos_ra, cos_dec), (sin_ra, sin_dec) = cos_sin_of_each(ra_deg, dec_deg)
    return side_by_side(cos_dec * cos_ra, cos_dec * sin_ra, sin_dec)


def vector_to_sky(vector: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right ascension in [0, 360) and declination, degrees, of vectors of any length.

    Inverse of `sky_to_vector`.

    Parameters
    ----------
    vector : array_like, shape (..., 3)

    >>> [float(x) for x in vector_to_sky([0.0, -2.0, 0.0])]
    [270.0, 0.0]
    """
    x, y, z = _parts(vector)
    ra_deg = np.degrees(steady.arctan2(y, x)) % 360.0
    return np.where(ra_deg >= 360.0, 0.0, ra_deg), np.degrees(steady.arctan2(z, steady.hypot(x, y)))


def east_north(ra_deg: ArrayLike, dec_deg: ArrayLike) -> tuple[Vectors, Vectors]:
    """Unit vectors towards east and north at sky positions, each of shape (..., 3).

    At a pole the meridian of the stated right ascension decides.
    """
    (cos_ra, cos_dec), (sin_ra, sin_dec) = cos_sin_of_each(ra_deg, dec_deg)
    return _east_north(cos_ra, sin_ra, cos_dec, sin_dec)


def axes(cos_ra: Vectors, sin_ra: Vectors, cos_dec: Vectors, sin_dec: Vectors) -> tuple[Vectors, ...]:
    """Unit vectors towards east and north at sky positions, and to these, each of shape (..., 3)."""
    out = side_by_side(cos_dec * cos_ra, cos_dec * sin_ra, sin_dec)
    return *_east_north(cos_ra, sin_ra, cos_dec, sin_dec), out


def east_north_at(vectors: ArrayLike) -> tuple[Vectors, Vectors]:
    """Unit vectors towards east and north at directions, vectors (..., 3) of any length; each of shape (..., 3).

    At a pole the meridian of right ascension 0 decides.
    """
    x, y, z = _parts(vectors)
    across = np.asarray(steady.hypot(x, y))
    size, off_pole = np.asarray(steady.hypot(across, z)), across > 0.0
    wide = np.where(off_pole, across, 1.0)
    return _east_north(np.where(off_pole, x / wide, 1.0), y / wide, across / size, z / size)


def _parts(vectors: ArrayLike) -> tuple[Vectors, Vectors, Vectors]:
    v = np.asarray(vectors, dtype=float)
    return v[..., 0], v[..., 1], v[..., 2]


def _cross(first: Vectors, second: Vectors) -> Vectors:
    (a, b, c), (x, y, z) = _parts(first), _parts(second)
    return side_by_side(b * z - c * y, c * x - a * z, a * y - b * x)


def _east_north(
    cos_ra: Vectors, sin_ra: Vectors, cos_dec: Vectors, sin_dec: Vectors
) -> tuple[Vectors, Vectors]:
    east = side_by_side(-sin_ra, cos_ra, 0.0)
    north = side_by_side(-sin_dec * cos_ra, -sin_dec * sin_ra, cos_dec)
    return east, north


def cos_sin_of_each(*angles_deg: ArrayLike) -> tuple[Vectors, Vectors]:
    """Cosines and sines of angles in degrees that broadcast against each other; a row for each."""
    rows = np.empty((len(angles_deg), *np.broadcast(*angles_deg).shape))
    for row, angle in enumerate(angles_deg):
        rows[row, ...] = angle
    return steady.cos_sin(np.radians(rows))


def side_by_side(first: ArrayLike, *others: ArrayLike) -> Vectors:
    """Arrays of one shape (...), or numbers after the first, as one of shape (..., N)."""
    found = np.empty((*np.shape(first), 1 + len(others)))
    for column, values in enumerate((first, *others)):
        found[..., column] = values
    return found


def separation_rad(first: ArrayLike, second: ArrayLike) -> NDArray[np.float64]:
    """Angle between vectors in [0, pi], radians, by arctan2 (exact for tiny and for opposite vectors).

    Parameters
    ----------
    first, second : array_like, shape (..., 3)
    """
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    across = _cross(a, b)
    return np.asarray(steady.arctan2(np.sqrt(steady.dot(across, across)), steady.dot(a, b)))


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
    angle = np.degrees(steady.arctan2(steady.dot(target, east), steady.dot(target, north)))
    return np.asarray(angle % 360.0)


@overload
def wrapped_deg(angle_deg: float, period_deg: float = 360.0) -> float: ...
@overload
def wrapped_deg(angle_deg: ArrayLike, period_deg: float = 360.0) -> NDArray[np.float64]: ...
def wrapped_deg(angle_deg: Any, period_deg: float = 360.0) -> Any:
    """Angles brought into [-period / 2, period / 2) by whole periods, degrees.

    >>> float(wrapped_deg(350.0)), float(wrapped_deg(100.0, 180.0))
    (-10.0, -80.0)
    """
    half = period_deg / 2
    alone = isinstance(angle_deg, float | int)
    angles = angle_deg if alone else np.asarray(angle_deg, dtype=float)
    found = (angles + half) % period_deg - half
    return found if alone else np.asarray(found)


def triangle_area_sr(a: ArrayLike, b: ArrayLike, c: ArrayLike) -> NDArray[np.float64]:
    """Signed area of spherical triangles, steradians; positive when counter-clockwise seen from outside.

    Source: van Oosterom & Strackee 1983, IEEE Trans. Biomed. Eng. BME-30, 125.

    Parameters
    ----------
    a, b, c : array_like, shape (..., 3)
        Unit vectors of the corners.
    """
    a, b, c = (np.asarray(v, dtype=float) for v in (a, b, c))
    one_plus = 1.0 + steady.dot(a, b) + steady.dot(b, c) + steady.dot(c, a)
    triple = steady.dot(a, _cross(b - a, c - a))  # that of a, b, c, without the rounding of large parts
    return np.asarray(2.0 * steady.arctan2(triple, one_plus))

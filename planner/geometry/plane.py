"""Tangent planes: the gnomonic projection about any centre, turned by any position angle.

A *basis* is a 3 x 3 matrix of row vectors (left, up, out): `out` points to the centre on the sky, `up` is
the frame's up direction (position angle east of north), `left` lies 90 degrees east of `up`. In its tangent
plane a direction v has the coordinates x = v.left / v.out and y = v.up / v.out, so with position angle 0 x grows
to the east (left where parity is that of the sky) and y to the north. Great circles are straight lines.

Source: Calabretta & Greisen 2002, A&A 395, 1077, section 5.1.3 (TAN), in vector form.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from . import steady
from .sphere import axes, cos_sin_of_each, east_north_at, side_by_side

__all__ = [
    "basis_position_angle_deg",
    "plane_change",
    "plane_to_vector",
    "seen_through",
    "sky_basis",
    "turned_basis",
    "vector_to_plane",
]


def sky_basis(ra_deg: ArrayLike, dec_deg: ArrayLike, position_angle_deg: ArrayLike) -> NDArray[np.float64]:
    """Bases (left, up, out) of tangent planes on the sky.

    Parameters
    ----------
    ra_deg, dec_deg : array_like, shape (...)
        Centres, ICRS degrees. At a pole the meridian of the stated right ascension is north's line.
    position_angle_deg : array_like, shape (...)
        Of the up direction, degrees east of north.

    Returns
    -------
    ndarray, shape (..., 3, 3)
    """
    (cos_ra, cos_dec, cos), (sin_ra, sin_dec, sin) = cos_sin_of_each(ra_deg, dec_deg, position_angle_deg)
    return _turned(axes(cos_ra, sin_ra, cos_dec, sin_dec), cos, sin)


def turned_basis(
    east: NDArray[np.float64],
    north: NDArray[np.float64],
    out: NDArray[np.float64],
    angle_rad: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Bases (left, up, out), shape (..., 3, 3), turned by angles (...) from north towards east."""
    return _turned((east, north, out), *steady.cos_sin(angle_rad))


def _turned(
    directions: tuple[NDArray[np.float64], ...], cos: NDArray[np.float64], sin: NDArray[np.float64]
) -> NDArray[np.float64]:
    east, north, out = directions
    cos, sin = np.asarray(cos)[..., None], np.asarray(sin)[..., None]
    found = np.empty((*np.broadcast(cos, out).shape[:-1], 3, 3))
    found[..., 0, :] = cos * east - sin * north
    found[..., 1, :] = cos * north + sin * east
    found[..., 2, :] = out
    return found


def basis_position_angle_deg(basis: ArrayLike) -> NDArray[np.float64]:
    """Position angle of each basis's up direction at its centre, degrees east of north, [0, 360).

    Parameters
    ----------
    basis : array_like, shape (..., 3, 3)
    """
    basis = np.asarray(basis, dtype=float)
    east, north = east_north_at(basis[..., 2, :])
    up = basis[..., 1, :]
    angle = np.degrees(steady.arctan2(steady.dot(up, east), steady.dot(up, north)))
    return np.asarray(angle % 360.0)


def vector_to_plane(vector: ArrayLike, basis: ArrayLike) -> NDArray[np.float64]:
    """Tangent plane coordinates (x left, y up) in radians at the centre; inverse of `plane_to_vector`.

    Parameters
    ----------
    vector : array_like, shape (..., 3)
    basis : array_like, shape (..., 3, 3)
        Broadcast against the vectors' leading dimensions.

    Returns
    -------
    ndarray, shape (..., 2)
        NaN for directions 90 degrees or more from the centre, which have no image.
    """
    parts = steady.dot(np.asarray(basis, dtype=float), np.asarray(vector, dtype=float)[..., None, :])
    out = np.where(parts[..., 2:] > 0.0, parts[..., 2:], np.nan)
    return np.asarray(parts[..., :2] / out)


def plane_to_vector(xy: ArrayLike, basis: ArrayLike) -> NDArray[np.float64]:
    """Unit vectors of tangent plane coordinates (x left, y up); inverse of `vector_to_plane`.

    Parameters
    ----------
    xy : array_like, shape (..., 2)
    basis : array_like, shape (..., 3, 3)

    Returns
    -------
    ndarray, shape (..., 3)
    """
    xy, basis = np.asarray(xy, dtype=float), np.asarray(basis, dtype=float)
    vector = xy[..., :1] * basis[..., 0, :] + xy[..., 1:] * basis[..., 1, :] + basis[..., 2, :]
    return np.asarray(vector / np.sqrt(steady.dot(vector, vector))[..., None])


def plane_change(start: ArrayLike, end: ArrayLike) -> NDArray[np.float64]:
    """Matrices that take one tangent plane to another, for `seen_through`, shape (..., 3, 3).

    Parameters
    ----------
    start, end : array_like, shape (..., 3, 3)
        Bases, broadcast against each other.
    """
    start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    return steady.dot(end[..., :, None, :], start[..., None, :, :])


def seen_through(xy: ArrayLike, change: ArrayLike) -> NDArray[np.float64]:
    """Coordinates in the plane that a `plane_change` leads to, of points of the other: what both show.

    A gnomonic image of a gnomonic image is a projective map: nothing need be brought to the sphere.

    Parameters
    ----------
    xy : array_like, shape (..., 2)
    change : array_like, shape (..., 3, 3)
        Broadcast against the points' leading dimensions.

    Returns
    -------
    ndarray, shape (..., 2)
        NaN for directions 90 degrees or more from the centre, which have no image.
    """
    xy, change = np.asarray(xy, dtype=float), np.asarray(change, dtype=float)
    x, y = xy[..., 0], xy[..., 1]
    left, up, out = (x * change[..., k, 0] + y * change[..., k, 1] + change[..., k, 2] for k in range(3))
    out = np.where(out > 0.0, out, np.nan)
    return side_by_side(left / out, up / out)

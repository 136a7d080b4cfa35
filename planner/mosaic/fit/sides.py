"""Fields placed on the sky: the room at their four sides, and how it changes as a field moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .opening import Opening

__all__ = ["Sides", "axes_at", "corners_seen", "rooms_left", "sides_of"]

Array = NDArray[np.float64]
LEAST_DEPTH = 1e-3
"""Corners at 90 degrees from a field's centre and beyond count as at this depth: far outside."""
NEXT_TO_POLE = 1e-12


@dataclass(frozen=True, eq=False)
class Sides:
    """K fields on the sky and the room at their sides: left, right, top, bottom (left is east at angle 0).

    Parameters
    ----------
    centers : ndarray, shape (K, 3)
        Unit vectors.
    angles_rad : ndarray, shape (K,)
        Position angles of the fields' up at their centres.
    axes : ndarray, shape (K, 2, 3)
        Unit vectors towards left and up.
    touching : ndarray, shape (K, 4, 2)
        Tangent plane coordinates of the corner nearest to each side.
    rooms : ndarray, shape (K, 4)
        Room at each side, in the opening's units.
    nearest : ndarray of int, shape (K, 4)
        Which corners these are.
    """

    centers: Array
    angles_rad: Array
    axes: Array
    touching: Array
    rooms: Array
    nearest: NDArray[np.int64]

    @property
    def room(self) -> Array:
        """The least room of each field, shape (K,)."""
        return np.asarray(self.rooms.min(axis=1))

    def gradients(self, opening: Opening, touching: Array | None = None) -> Array:
        """Change of each room as a field moves to its left and to its up at its angle, shape (K, 4, 2).

        A field that moves by s (left, up) sees a corner's x fall by (1 + x^2) s_left + x y s_up, and alike y. As
        its position angle stays the same while meridians converge, it turns besides by tan(declination) times
        the way to the east.

        Parameters
        ----------
        opening : Opening
        touching : ndarray, shape (K, 4, 2), optional
            Coordinates of other corners for the four sides than those nearest to them.
        """
        touching = self.touching if touching is None else touching
        x, y = touching[..., 0], touching[..., 1]
        steep = self.centers[:, 2] / np.maximum(
            np.hypot(self.centers[:, 0], self.centers[:, 1]), NEXT_TO_POLE
        )
        turn_left, turn_up = (steep * part(self.angles_rad) for part in (np.cos, np.sin))
        moves = np.empty((*x.shape, 2))
        for side, sign in ((0, 1.0), (1, -1.0)):
            here, there = x[:, side], y[:, side]
            moves[:, side, 0] = sign * (1 + here * here - there * turn_left)
            moves[:, side, 1] = sign * (here * there - there * turn_up)
        for side, sign in ((2, 1.0), (3, -1.0)):
            here, there = x[:, side], y[:, side]
            moves[:, side, 0] = sign * (here * there + here * turn_left)
            moves[:, side, 1] = sign * (1 + there * there + here * turn_up)
        moves /= opening.units[:, None]
        return moves

    def taken_where(self, these: NDArray[np.bool_], others: Sides) -> Sides:
        """Return these fields where a mask of shape (K,) holds, others elsewhere."""
        return Sides(
            *(
                np.where(these.reshape(-1, *[1] * (mine.ndim - 1)), mine, theirs)
                for mine, theirs in zip(self._parts, others._parts, strict=True)
            )
        )

    def at(self, index: NDArray[np.int64] | NDArray[np.bool_]) -> Sides:
        """Return some of the fields."""
        return Sides(*(part[index] for part in self._parts))

    def joined(self, others: Sides) -> Sides:
        """Return these fields and others after them."""
        return Sides(*(np.concatenate(both) for both in zip(self._parts, others._parts, strict=True)))

    def put(self, index: NDArray[np.int64], others: Sides) -> None:
        """Replace some of the fields."""
        for mine, theirs in zip(self._parts, others._parts, strict=True):
            mine[index] = theirs

    @property
    def _parts(self) -> tuple[NDArray[Any], ...]:
        return self.centers, self.angles_rad, self.axes, self.touching, self.rooms, self.nearest


def axes_at(centers: Array, angles_rad: Array) -> Array:
    """Unit vectors towards left and up of fields at centres (K, 3) with position angles (K,), shape (K, 2, 3).

    At a pole the meridian of right ascension 0 decides.
    """
    x, y, z = centers.T
    across = np.hypot(x, y)
    there = across > NEXT_TO_POLE
    safe = np.where(there, across, 1.0)
    east_x, east_y = np.where(there, -y / safe, 0.0), np.where(there, x / safe, 1.0)
    north_x, north_y, north_z = -z * east_y, z * east_x, x * east_y - y * east_x
    cos, sin = np.cos(angles_rad), np.sin(angles_rad)
    found = np.empty((len(centers), 2, 3))
    found[:, 0, 0], found[:, 1, 0] = cos * east_x - sin * north_x, cos * north_x + sin * east_x
    found[:, 0, 1], found[:, 1, 1] = cos * east_y - sin * north_y, cos * north_y + sin * east_y
    found[:, 0, 2], found[:, 1, 2] = -sin * north_z, cos * north_z
    return found


def sides_of(corners: Array, opening: Opening, centers: Array, angles_rad: Array) -> Sides:
    """Place fields and find the room at their sides.

    Parameters
    ----------
    corners : ndarray, shape (N, 3) or (K, N, 3)
        Unit vectors, the same for all fields or those of each.
    opening : Opening
    centers : ndarray, shape (K, 3)
    angles_rad : ndarray, shape (K,)
    """
    axes = axes_at(centers, angles_rad)
    depth = np.maximum(_along(corners, centers), LEAST_DEPTH)
    x, y = (_along(corners, axes[:, i]) / depth for i in (0, 1))
    nearest = np.stack([x.argmax(1), x.argmin(1), y.argmax(1), y.argmin(1)], axis=1)
    touching = np.stack([np.take_along_axis(values, nearest, axis=1) for values in (x, y)], axis=-1)
    return Sides(centers, angles_rad, axes, touching, rooms_left(opening, touching), nearest)


def corners_seen(corners: Array, placed: Sides, which: NDArray[np.int64]) -> Array:
    """Tangent plane coordinates of some corners, one for each side, in each field: shape (K, 4, 2)."""
    if corners.ndim == 2:
        seen = corners[which]
    else:
        seen = np.take_along_axis(corners, which[..., None], axis=1)
    depth = np.maximum(np.matmul(seen, placed.centers[:, :, None])[..., 0], LEAST_DEPTH)
    return np.asarray(np.matmul(seen, placed.axes.transpose(0, 2, 1)) / depth[..., None])


def rooms_left(opening: Opening, touching: Array) -> Array:
    """Room that corners leave, each at its side, shape (K, 4)."""
    towards = np.stack([touching[:, 0, 0], -touching[:, 1, 0], touching[:, 2, 1], -touching[:, 3, 1]], axis=1)
    return np.asarray(opening.sizes - towards / opening.units)


def _along(corners: Array, directions: Array) -> Array:
    """Products of corners with one direction for each field, shape (K, N)."""
    if corners.ndim == 2:
        return np.asarray(directions @ corners.T)
    return np.asarray(np.matmul(corners, directions[:, :, None])[..., 0])

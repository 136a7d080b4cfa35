"""A chart in which the panels of one orientation stand upright, side by side.

It is the Mercator chart of the orientation's system (conformal, meridians parallel), turned by the panels' angle
and scaled so that lengths at the chart's middle are those on the sky in radians. Around it a panel centred at
latitude b is larger by cos(middle's latitude) / cos(b). Axes: u grows with a panel's x (left), v with its y (up).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import steady

from .orientation import Orientation

__all__ = ["Chart"]

Array = NDArray[np.float64]

NEAREST_POLE_RAD = 0.01
"""A middle nearer to a pole gets the chart's scale of this distance."""
AT_POLE = 1e-12
"""Points nearer to a pole, in radians, are drawn at this distance, at the height `HIGHEST`."""
HIGHEST = 29.0


@dataclass(frozen=True)
class Chart:
    """The chart of an orientation about a middle.

    Parameters
    ----------
    orientation : Orientation
    middle : ndarray, shape (3,)
        Unit vector, ICRS.
    """

    orientation: Orientation
    middle: Array

    @cached_property
    def _rotation(self) -> Array:
        return self.orientation.rotation

    @cached_property
    def _origin(self) -> tuple[float, float, float]:
        """Longitude and Mercator height of the middle, radians, and cos(latitude)."""
        x, y, z = steady.times(self.middle, self._rotation.T).tolist()
        scale = max(steady.hypot(x, y), NEAREST_POLE_RAD)
        return steady.arctan2(y, x), steady.arcsinh(z / scale), scale

    @cached_property
    def _turn(self) -> tuple[float, float]:
        return steady.cos_sin(self._angle)

    @property
    def _angle(self) -> float:
        return math.radians(self.orientation.angle_deg)

    def scale(self, latitude_rad: ArrayLike) -> Array:
        """Chart length over length on the sky at latitudes of the orientation's system."""
        return np.asarray(self._origin[2] / steady.cos(np.asarray(latitude_rad, dtype=float)))

    @property
    def full_turn(self) -> Array:
        """Step in the chart, shape (2,), of a full turn of longitude."""
        cos, sin = self._turn
        return 2 * np.pi * self._origin[2] * np.array([cos, sin])

    def place(self, vectors: ArrayLike) -> Array:
        """Chart coordinates (u, v), shape (..., 2), of unit vectors (..., 3); inverse of `vectors`."""
        x, y, z = np.moveaxis(steady.times(vectors, self._rotation.T), -1, 0)
        return self._turned(self._east(x, y), self._height(x, y, z))

    def _east(self, x: Array, y: Array) -> Array:
        """Longitude from the middle's, in [-pi, pi)."""
        return np.asarray((steady.arctan2(y, x) - self._origin[0] + np.pi) % (2 * np.pi) - np.pi)

    def _height(self, x: Array, y: Array, z: Array) -> Array:
        """Mercator height."""
        return steady.arcsinh(z / np.maximum(steady.hypot(x, y), AT_POLE))

    def _turned(self, east: Array, height: Array) -> Array:
        return np.stack(self._uv(east, height), axis=-1)

    def _uv(self, east: Array, height: Array) -> tuple[Array, Array]:
        _, middle_height, scale = self._origin
        north = height - middle_height
        cos, sin = (scale * part for part in self._turn)
        return cos * east - sin * north, sin * east + cos * north

    def vectors(self, uv: ArrayLike) -> Array:
        """Unit vectors (..., 3) of chart coordinates (..., 2); inverse of `place`."""
        middle_longitude, middle_height, scale = self._origin
        cos, sin = self._turn
        u, v = np.moveaxis(np.asarray(uv, dtype=float) / scale, -1, 0)
        longitude = middle_longitude + cos * u + sin * v
        height = np.clip(middle_height + cos * v - sin * u, -HIGHEST, HIGHEST)
        power = steady.exp(height)
        whole = power + 1.0 / power
        cos_longitude, sin_longitude = steady.cos_sin(longitude)
        xyz = [2.0 * cos_longitude / whole, 2.0 * sin_longitude / whole, (power - 1.0 / power) / whole]
        return steady.times(np.stack(xyz, axis=-1), self._rotation)

    def places_showing(self, points: ArrayLike, xy: ArrayLike) -> Array:
        """Chart places (..., 2) of the panels that show points at given coordinates of their tangent planes.

        Parameters
        ----------
        points : array_like, shape (..., 3)
            Unit vectors, ICRS.
        xy : array_like, shape (..., 2)
            Wanted tangent plane coordinates (x left, y up); broadcast against the points.
        """
        left, up = np.moveaxis(np.asarray(xy, dtype=float), -1, 0)
        return np.stack(self.uv_showing(points, left, up, np.zeros(())), axis=-1)

    def uv_showing(self, points: ArrayLike, left: Array, up: Array, turn_rad: Array) -> tuple[Array, Array]:
        """Chart coordinates u and v of the panels that show points at coordinates of their tangent planes.

        Parameters
        ----------
        points : array_like, shape (..., 3)
            Unit vectors, ICRS.
        left, up : ndarray, shape (...)
            Wanted tangent plane coordinates; broadcast against the points.
        turn_rad : ndarray, shape (...)
            Of the panels against the orientation, from their up towards their left; broadcast too.

        Notes
        -----
        With e and n the coordinates towards the system's east and north, and r^2 = 1 + e^2 + n^2, the third
        component of the point is z = (n cos b + sin b) / r, which gives the panel's latitude b; its longitude is
        the point's less atan2(e, cos b - n sin b), without a jump half a turn from the middle. With
        q = sqrt(1 + n^2), s = z r / q and c = sqrt(1 - s^2) these are sin b = (s - n c) / q and
        cos b - n sin b = c q. The point has the height artanh(z) in the chart, the panel artanh(sin b), so
        it stands higher by artanh((sin b - z) / (1 - z sin b)). NaN where no panel on the same side of the
        pole shows it so.
        """
        x, y, z = np.moveaxis(steady.times(points, self._rotation.T), -1, 0)
        cos, sin = steady.cos_sin(self._angle + turn_rad)
        e, n = left * cos + up * sin, up * cos - left * sin
        square = 1.0 + n * n
        stretch = np.sqrt(square)
        with np.errstate(invalid="ignore"):
            sine = z * np.sqrt((square + e * e) / square)
            cosine = np.sqrt(1.0 - sine * sine)
            sin_latitude = (sine - n * cosine) / stretch
            east = self._east(x, y) - steady.arctan2(e, cosine * stretch)
            height = steady.arctanh((sin_latitude - z) / (1.0 - z * sin_latitude))
            height += self._height(x, y, z)
            hidden = cosine + n * sine <= 0.0
            if hidden.any():
                height[hidden] = np.nan
        return self._uv(east, height)

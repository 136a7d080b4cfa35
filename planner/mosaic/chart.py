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
        x, y, z = self._rotation @ self.middle
        scale = max(math.hypot(x, y), NEAREST_POLE_RAD)
        return math.atan2(y, x), math.asinh(z / scale), scale

    @cached_property
    def _turn(self) -> tuple[float, float]:
        angle = math.radians(self.orientation.angle_deg)
        return math.cos(angle), math.sin(angle)

    def scale(self, latitude_rad: ArrayLike) -> Array:
        """Chart length over length on the sky at latitudes of the orientation's system."""
        return np.asarray(self._origin[2] / np.cos(latitude_rad))

    @property
    def full_turn(self) -> Array:
        """Step in the chart, shape (2,), of a full turn of longitude."""
        cos, sin = self._turn
        return 2 * np.pi * self._origin[2] * np.array([cos, sin])

    def place(self, vectors: ArrayLike) -> Array:
        """Chart coordinates (u, v), shape (..., 2), of unit vectors (..., 3); inverse of `vectors`."""
        x, y, z = np.moveaxis(np.asarray(vectors, dtype=float) @ self._rotation.T, -1, 0)
        return self._turned(self._east(x, y), np.arcsinh(z / np.maximum(np.hypot(x, y), AT_POLE)))

    def _east(self, x: Array, y: Array) -> Array:
        """Longitude from the middle's, in [-pi, pi)."""
        return np.asarray((np.arctan2(y, x) - self._origin[0] + np.pi) % (2 * np.pi) - np.pi)

    def _turned(self, east: Array, height: Array) -> Array:
        _, middle_height, scale = self._origin
        north = height - middle_height
        cos, sin = self._turn
        return scale * np.stack([cos * east - sin * north, sin * east + cos * north], axis=-1)

    def vectors(self, uv: ArrayLike) -> Array:
        """Unit vectors (..., 3) of chart coordinates (..., 2); inverse of `place`."""
        middle_longitude, middle_height, scale = self._origin
        cos, sin = self._turn
        u, v = np.moveaxis(np.asarray(uv, dtype=float) / scale, -1, 0)
        longitude = middle_longitude + cos * u + sin * v
        height = np.clip(middle_height + cos * v - sin * u, -HIGHEST, HIGHEST)
        cos_b = 1.0 / np.cosh(height)
        xyz = np.stack([cos_b * np.cos(longitude), cos_b * np.sin(longitude), np.tanh(height)], axis=-1)
        return np.asarray(xyz @ self._rotation)

    def places_showing(self, points: ArrayLike, xy: ArrayLike) -> Array:
        """Chart places (..., 2) of the panels that show points at given coordinates of their tangent planes.

        Parameters
        ----------
        points : array_like, shape (..., 3)
            Unit vectors, ICRS.
        xy : array_like, shape (..., 2)
            Wanted tangent plane coordinates (x left, y up); broadcast against the points.

        Notes
        -----
        With e and n the coordinates towards the system's east and north, and r^2 = 1 + e^2 + n^2, the third
        component of the point is (n cos b + sin b) / r, which gives the panel's latitude b; its longitude is
        the point's less atan2(e, cos b - n sin b), without a jump half a turn from the middle. NaN where no
        panel on the same side of the pole shows it so.
        """
        x, y, z = np.moveaxis(np.asarray(points, dtype=float) @ self._rotation.T, -1, 0)
        cos, sin = self._turn
        left, up = np.moveaxis(np.asarray(xy, dtype=float), -1, 0)
        e, n = left * cos + up * sin, up * cos - left * sin
        with np.errstate(invalid="ignore"):
            latitude = np.arcsin(z * np.sqrt((1 + e * e + n * n) / (1 + n * n))) - np.arctan(n)
            east = self._east(x, y) - np.arctan2(e, np.cos(latitude) - n * np.sin(latitude))
            return self._turned(east, np.arcsinh(np.tan(latitude)))

"""How the camera stands: a constant angle in some spherical system.

A camera that nobody turns has the same position angle at every centre: a constant angle in ICRS. Panels square
with a picture have the angle 0 in the system whose origin is the picture's centre and whose north is the
picture's up. Both layouts are this one case.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import (
    basis_position_angle_deg,
    east_north_at,
    sky_basis,
    sky_to_vector,
    steady,
    turned_basis,
)

__all__ = ["Orientation"]


@dataclass(frozen=True)
class Orientation:
    """A constant angle in the spherical system of an origin and the position angle of its north there.

    Parameters
    ----------
    angle_deg : float
        Of every panel's up direction, east of the system's north at the panel's own centre.
    origin_deg : (float, float)
        ICRS position of the system's longitude 0, latitude 0.
    north_angle_deg : float
        Position angle, in ICRS, of the system's north at its origin.

    >>> Orientation.common(20.0).position_angles_deg(sky_to_vector([10.0, 200.0], [0.0, 75.0])).round(9).tolist()
    [20.0, 20.0]
    """

    angle_deg: float
    origin_deg: tuple[float, float] = (0.0, 0.0)
    north_angle_deg: float = 0.0

    @classmethod
    def common(cls, position_angle_deg: float) -> Orientation:
        """Return the orientation of a camera that nobody turns: one position angle at every centre."""
        return cls(position_angle_deg)

    @classmethod
    def square_with(cls, ra_deg: float, dec_deg: float, position_angle_deg: float) -> Orientation:
        """Return the orientation of panels square with a picture centred there with that position angle."""
        return cls(0.0, (ra_deg, dec_deg), position_angle_deg)

    @property
    def is_common(self) -> bool:
        """Whether the system is ICRS itself, so that the angle is the position angle at every centre."""
        return self.origin_deg == (0.0, 0.0) and self.north_angle_deg == 0.0

    def turned_to(self, angle_deg: float) -> Orientation:
        """Return the same system with another angle."""
        return replace(self, angle_deg=angle_deg)

    @cached_property
    def rotation(self) -> NDArray[np.float64]:
        """Matrix that takes ICRS vectors into the system; rows: towards origin, east, north."""
        return _rotation(self.origin_deg, self.north_angle_deg)

    def bases(self, centers: ArrayLike) -> NDArray[np.float64]:
        """Panel bases (left, up, out) in ICRS at centres.

        Parameters
        ----------
        centers : array_like, shape (..., 3)
            Unit vectors, ICRS.

        Returns
        -------
        ndarray, shape (..., 3, 3)
        """
        seen = np.asarray(centers, dtype=float)
        seen = seen if self.is_common else steady.times(seen, self.rotation.T)
        out = seen / np.sqrt(steady.dot(seen, seen))[..., None]
        found = turned_basis(*east_north_at(out), out, np.asarray(np.radians(self.angle_deg)))
        return found if self.is_common else steady.times(found, self.rotation)

    def position_angles_deg(self, centers: ArrayLike) -> NDArray[np.float64]:
        """Position angles in ICRS, [0, 360) degrees, of panels at centres of shape (..., 3)."""
        return basis_position_angle_deg(self.bases(centers))

    def centers(self, longitude_deg: ArrayLike, latitude_deg: ArrayLike) -> NDArray[np.float64]:
        """ICRS unit vectors, shape (..., 3), of positions in the system."""
        return steady.times(sky_to_vector(longitude_deg, latitude_deg), self.rotation)


@lru_cache(maxsize=64)
def _rotation(origin_deg: tuple[float, float], north_angle_deg: float) -> NDArray[np.float64]:
    """Matrix of a system, the same for all angles in it."""
    left, up, out = sky_basis(*origin_deg, north_angle_deg)
    found = np.stack([out, left, up])
    found.flags.writeable = False
    return found

"""The part of a tangent plane that a chart shows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky, wrapped_deg

__all__ = ["Window"]

WIDEST = math.tan(math.radians(70.0))
"""Nothing further than this from the centre, in the plane, is shown."""
SMALLEST = 1e-7
"""Content smaller than this, in the plane, is taken for a point of this size."""
BORDER_POINTS = 400


@dataclass(frozen=True)
class Window:
    """A rectangle in the tangent plane about a centre; x grows to the left, y up.

    Parameters
    ----------
    center_deg : (float, float)
        Where the plane touches the sky, ICRS degrees.
    position_angle_deg : float
        Of the chart's up direction there, degrees east of north.
    left, right, bottom, top : float
        Limits in the plane, units of its distance: left > right, top > bottom.
    """

    center_deg: tuple[float, float]
    position_angle_deg: float
    left: float
    right: float
    bottom: float
    top: float

    @classmethod
    def around(
        cls,
        vectors: ArrayLike,
        *,
        center_deg: tuple[float, float],
        aspect: float,
        position_angle_deg: float = 0.0,
        margin: float = 0.07,
        smallest_deg: float = 0.7,
    ) -> Window:
        """Return the window of a given aspect (width / height) that shows all vectors.

        Parameters
        ----------
        vectors : array_like, shape (N, 3)
        margin : float
            Free rim on each side, as a fraction of the content.
        smallest_deg : float
            Least height and width, since a tiny field needs surroundings to be found; but never more than
            four times the content.
        """
        xy = vector_to_plane(vectors, sky_basis(*center_deg, position_angle_deg))
        xy = xy[np.abs(xy).max(axis=-1, initial=0.0) < WIDEST]
        low, high = (xy.min(axis=0), xy.max(axis=0)) if len(xy) else (np.zeros(2), np.zeros(2))
        size = max(float((high - low).max()), SMALLEST)
        least = min(2 * math.tan(math.radians(smallest_deg) / 2), 4 * size)
        width, height = np.maximum((high - low) * (1 + 2 * margin), least)
        width, height = max(width, height * aspect), max(height, width / aspect)
        x, y = (low + high) / 2
        return cls(
            center_deg, position_angle_deg, x + width / 2, x - width / 2, y - height / 2, y + height / 2
        )

    @cached_property
    def basis(self) -> NDArray[np.float64]:
        """Tangent plane basis (left, up, out), shape (3, 3)."""
        return sky_basis(*self.center_deg, self.position_angle_deg)

    @property
    def width(self) -> float:
        """Width in the plane."""
        return self.left - self.right

    @property
    def height(self) -> float:
        """Height in the plane."""
        return self.top - self.bottom

    @cached_property
    def middle(self) -> NDArray[np.float64]:
        """Vector to the middle of the rectangle."""
        return plane_to_vector([(self.left + self.right) / 2, (self.bottom + self.top) / 2], self.basis)

    @property
    def radius_rad(self) -> float:
        """Largest angle between the middle and the rim."""
        return float(np.arccos(np.clip((self.border_vectors() @ self.middle).min(), -1.0, 1.0)))

    def project(self, vectors: ArrayLike) -> NDArray[np.float64]:
        """Plane coordinates of vectors, NaN where they have none; shape (..., 2)."""
        return vector_to_plane(vectors, self.basis)

    def holds(self, xy: ArrayLike) -> NDArray[np.bool_]:
        """Which plane points lie inside, rim included; NaN does not."""
        x, y = np.moveaxis(np.asarray(xy, dtype=float), -1, 0)
        return np.asarray((x <= self.left) & (x >= self.right) & (y >= self.bottom) & (y <= self.top))

    def border_vectors(self) -> NDArray[np.float64]:
        """Points along the whole rim, as vectors, shape (N, 3)."""
        along = np.linspace(0.0, 1.0, BORDER_POINTS // 4, endpoint=False)
        corners = np.array(
            [
                (self.left, self.bottom),
                (self.right, self.bottom),
                (self.right, self.top),
                (self.left, self.top),
            ]
        )
        step = np.roll(corners, -1, axis=0) - corners
        return plane_to_vector((corners[:, None] + along[:, None] * step[:, None]).reshape(-1, 2), self.basis)

    def sky_range(self) -> tuple[float, float, float, float]:
        """Box on the sky that holds the window: right ascension from the centre's, then declination, degrees.

        The first two are (-180, 180) where a pole is inside. Both coordinates have their extremes on the rim
        or at a pole: they have no other turning points. A fiftieth is added on all sides.
        """
        ra_deg, dec_deg = vector_to_sky(self.border_vectors())
        offset = wrapped_deg(ra_deg - self.center_deg[0])
        north, south = self.holds(self.project([[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]]))
        ra_rim, dec_rim = np.ptp(offset) / 50, np.ptp(dec_deg) / 50
        low, high = max(offset.min() - ra_rim, -180.0), min(offset.max() + ra_rim, 180.0)
        if north or south:
            low, high = -180.0, 180.0
        south_deg = -90.0 if south else max(dec_deg.min() - dec_rim, -90.0)
        return (
            float(low),
            float(high),
            float(south_deg),
            90.0 if north else float(min(dec_deg.max() + dec_rim, 90.0)),
        )

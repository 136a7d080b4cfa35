"""The region: a simple polygon on the sphere whose edges are great circles."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError
from planner.geometry import (
    plane_to_vector,
    sky_frame,
    sky_to_vector,
    triangle_area_sr,
    vector_to_plane,
    vector_to_sky,
)

__all__ = ["Region", "polygon_area_sr"]

WIDEST_DEG = 70.0
"""Largest distance of a region's corner from its centre."""
DISC_CORNERS = 32
"""Corners of the polygon that stands for a disc when a region is grown."""
CIRCLE_CORNERS = 180
"""Corners of the polygon that stands for a circle: encloses it, area 0.02 per cent larger."""


@dataclass(frozen=True)
class Region:
    """The part of the sky that must be covered.

    Parameters
    ----------
    outline_deg : tuple of (float, float)
        Corners, ICRS right ascension and declination, degrees. The inside is the side with the smaller area.
    middle_deg : (float, float), optional
        The centre where the form has one (circle, rectangle, ellipse); left out, the middle of the smallest
        circle about the corners.

    Raises
    ------
    InputError
        If the outline has fewer than three corners, crosses itself, has no area or is too wide.

    >>> Region.rectangle((0.0, 90.0), 2.0, 2.0).area_deg2 > 4.0 * 0.999
    True
    """

    outline_deg: tuple[tuple[float, float], ...]
    middle_deg: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if len(self.outline_deg) < 3:
            raise InputError(
                f"the region's outline needs at least 3 corners, got {len(self.outline_deg)}; add corners"
            )
        flat = self.polygon
        if not (np.isfinite(flat.bounds).all() and flat.is_valid):
            where = shapely.is_valid_reason(flat)
            problem = "crosses or touches itself" if "Self" in where else "is not a simple polygon"
            raise InputError(f"the region's outline {problem}; list its corners in order along the rim")
        if flat.area < 1e-16:
            raise InputError("the region has no area; give corners that are not on one line")

    @classmethod
    def from_vectors(cls, vectors: ArrayLike, middle_deg: tuple[float, float] | None = None) -> Region:
        """Return the region with these corner vectors, shape (N, 3)."""
        ra_deg, dec_deg = vector_to_sky(vectors)
        return cls(tuple(zip(ra_deg.tolist(), dec_deg.tolist(), strict=True)), middle_deg)

    @classmethod
    def circle(cls, center_deg: tuple[float, float], radius_deg: float) -> Region:
        """Return the polygon that encloses a circle of angular radius in (0, 35] degrees."""
        angle = 2 * np.pi * np.arange(CIRCLE_CORNERS) / CIRCLE_CORNERS
        reach = math.tan(math.radians(radius_deg)) / math.cos(math.pi / CIRCLE_CORNERS)
        xy = reach * np.stack([-np.sin(angle), np.cos(angle)], axis=-1)
        return cls.from_vectors(plane_to_vector(xy, sky_frame(*center_deg, 0.0)), center_deg)

    @classmethod
    def rectangle(
        cls,
        center_deg: tuple[float, float],
        width_deg: float,
        height_deg: float,
        position_angle_deg: float = 0.0,
    ) -> Region:
        """Return the tangent plane rectangle with half sizes tan(width / 2), tan(height / 2)."""
        half = np.tan(np.radians([width_deg, height_deg]) / 2)
        xy = half * np.array([[1, -1], [-1, -1], [-1, 1], [1, 1]])
        return cls.from_vectors(plane_to_vector(xy, sky_frame(*center_deg, position_angle_deg)), center_deg)

    @cached_property
    def outline_vectors(self) -> NDArray[np.float64]:
        """Corner vectors, shape (N, 3), in the order given."""
        ra_deg, dec_deg = np.array(self.outline_deg, dtype=float).T
        return sky_to_vector(ra_deg, dec_deg)

    @cached_property
    def frame(self) -> NDArray[np.float64]:
        """Tangent plane frame at the region's centre, position angle 0."""
        if self.middle_deg is not None:
            return sky_frame(*self.middle_deg, 0.0)
        mean = self.outline_vectors.mean(axis=0)
        if np.linalg.norm(mean) < 1e-3:
            raise InputError("the region is too wide; keep it within 40 degrees or split it")
        frame = sky_frame(*vector_to_sky(mean), 0.0)
        for _ in range(2):
            middle = shapely.minimum_bounding_circle(shapely.MultiPoint(self._project(frame))).centroid
            frame = sky_frame(*vector_to_sky(plane_to_vector([middle.x, middle.y], frame)), 0.0)
        return frame

    def _project(self, frame: NDArray[np.float64]) -> NDArray[np.float64]:
        depth = self.outline_vectors @ frame[2]
        if depth.min() < math.cos(math.radians(WIDEST_DEG)):
            raise InputError("the region is too wide; keep it within 40 degrees or split it")
        return vector_to_plane(self.outline_vectors, frame)

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The region in the tangent plane of its own `frame`, where its edges are straight."""
        return shapely.Polygon(self._project(self.frame))

    @property
    def center_deg(self) -> tuple[float, float]:
        """The centre, ICRS degrees."""
        if self.middle_deg is not None:
            return self.middle_deg
        ra_deg, dec_deg = vector_to_sky(self.frame[2])
        return float(ra_deg), float(dec_deg)

    @property
    def radius_rad(self) -> float:
        """Largest distance of a corner from the centre, radians."""
        return float(np.arccos(np.clip((self.outline_vectors @ self.frame[2]).min(), -1, 1)))

    @cached_property
    def area_deg2(self) -> float:
        """Solid angle, square degrees."""
        return abs(polygon_area_sr(self.outline_vectors, self.frame[2])) * math.degrees(1.0) ** 2

    def grown(self, margin_deg: float) -> Region:
        """Return the region with everything within the margin added; holes that close are filled.

        Every edge gives the convex hull of the polygons about the discs at its ends: it encloses all points
        within the margin, since a great circle between points of equal distance runs further out than the
        parallel. The growth exceeds the margin by up to 0.5 per cent at the corners.
        """
        if margin_deg == 0.0:
            return self
        discs = self._discs(math.radians(margin_deg))
        pairs = np.concatenate([discs, np.roll(discs, -1, axis=0)], axis=1)
        strips = shapely.convex_hull(shapely.linestrings(pairs))
        whole = shapely.union_all([*strips, self.polygon])
        rim = np.asarray(whole.exterior.coords)[:-1]
        return Region.from_vectors(plane_to_vector(rim, self.frame), self.middle_deg)

    def _discs(self, radius_rad: float) -> NDArray[np.float64]:
        """Circumscribed polygons about the discs at all corners, in the region's plane, (N, corners, 2)."""
        angle = 2 * np.pi * np.arange(DISC_CORNERS) / DISC_CORNERS
        reach = math.tan(radius_rad) / math.cos(math.pi / DISC_CORNERS)
        xy = reach * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        frames = sky_frame(*vector_to_sky(self.outline_vectors), 0.0)
        return vector_to_plane(plane_to_vector(xy, frames[:, None]), self.frame)


def polygon_area_sr(vectors: ArrayLike, inside: ArrayLike) -> float:
    """Signed area of a polygon on the sphere by triangles from a point near it, steradians.

    Parameters
    ----------
    vectors : array_like, shape (N, 3)
        Corners in order; counter-clockwise seen from outside the sphere is positive.
    inside : array_like, shape (3,)
        Any point less than 90 degrees from all corners.
    """
    vectors = np.asarray(vectors, dtype=float)
    return float(
        triangle_area_sr(np.asarray(inside, dtype=float), vectors, np.roll(vectors, -1, axis=0)).sum()
    )

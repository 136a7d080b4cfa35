"""The region: what must be covered, polygons on the sphere whose edges are great circles.

One outline, or several rings: pieces that lie apart and the holes in them, inside by the even-odd rule. A gnomonic
plane keeps great circles straight, so unions and convex hulls are made there and hold on the sphere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError
from planner.geometry import plane_to_vector, sky_basis, steady, vector_to_plane, vector_to_sky

from .rings import (
    WIDEST_DEG,
    Ring,
    basis_about,
    centred,
    even_odd,
    polygon_area_sr,
    ring_of,
    rings_of,
    vectors_of,
    without_slivers,
)

__all__ = ["Join", "Part", "Region"]

Join = Literal["apart", "hull"]

DISC_CORNERS = 32
"""Corners of the polygon that stands for a disc when a region is grown."""
CIRCLE_CORNERS = 180
"""Corners of the polygon that stands for a circle: encloses it, area 0.02 per cent larger."""
TOO_WIDE = "the region is too wide; keep it within 40 degrees or split it"


@dataclass(frozen=True)
class Region:
    """The part of the sky that must be covered.

    Parameters
    ----------
    outline_deg : tuple of (float, float)
        Corners, ICRS right ascension and declination, degrees. The inside is the side with the smaller area. Of a
        region of several rings or parts it is that of their convex hull.
    middle_deg : (float, float), optional
        The centre where the form has one (circle, rectangle, ellipse); left out, the middle of the smallest
        circle about the corners.
    rings_deg : tuple of tuple of (float, float)
        Outlines of all pieces and holes, inside by the even-odd rule; left out, the outline alone.
    parts : tuple of Part
        What the region has been put together from, if it has.
    join : {'apart', 'hull'}
        Whether the parts alone are the region, or their convex hull.

    Raises
    ------
    InputError
        If the outline has fewer than three corners, crosses itself, has no area or is too wide.

    >>> Region.rectangle((0.0, 90.0), 2.0, 2.0).area_deg2 > 4.0 * 0.999
    True
    """

    outline_deg: tuple[tuple[float, float], ...]
    middle_deg: tuple[float, float] | None = None
    rings_deg: tuple[Ring, ...] = ()
    parts: tuple[Part, ...] = ()
    join: Join = "apart"

    def __post_init__(self) -> None:
        for ring in (self.outline_deg, *self.rings_deg):
            if len(ring) < 3:
                raise InputError(
                    f"the region's outline needs at least 3 corners, got {len(ring)}; add corners"
                )
        if not self.rings_deg:
            object.__setattr__(self, "rings_deg", (self.outline_deg,))
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
        return cls(ring_of(vectors), middle_deg)

    @classmethod
    def from_rings(cls, rings: Sequence[ArrayLike], middle_deg: tuple[float, float] | None = None) -> Region:
        """Return the region of several closed outlines, pieces and holes: inside is what an odd number of them hold.

        Parameters
        ----------
        rings : sequence of array_like, each of shape (N, 3)
            Corner vectors.
        middle_deg : (float, float), optional
            As in `Region`.
        """
        if len(rings) == 1:
            return cls.from_vectors(rings[0], middle_deg)
        basis = basis_about([np.asarray(ring, dtype=float) for ring in rings])
        flat = even_odd([vector_to_plane(ring, basis) for ring in rings])
        return cls._from_flat(flat, basis, middle_deg)

    @classmethod
    def from_parts(cls, parts: Sequence[Part | Region], *, join: Join = "apart") -> Region:
        """Return the region of several things: their union, or what lies between them too.

        Parameters
        ----------
        parts : sequence of Part or Region
            They may lie apart or overlap, and have holes.
        join : {'apart', 'hull'}
            Only the parts, or their convex hull on the sphere.

        Raises
        ------
        InputError
            If there is none, or they lie too far apart for one plane.

        >>> pair = [Region.circle((359.0, 0.0), 0.5), Region.circle((3.0, 0.0), 0.5)]
        >>> [round(Region.from_parts(pair, join=way).area_deg2, 2) for way in ("apart", "hull")]
        [1.57, 4.79]
        """
        named = tuple(
            p if isinstance(p, Part) else Part(f"part {k}", p) for k, p in enumerate(parts, start=1)
        )
        if not named:
            raise InputError("a region of parts needs at least one part, got none; add one")
        basis = basis_about([ring for part in named for ring in part.region.ring_vectors])
        flat = shapely.union_all([part.region.seen_from(basis) for part in named])
        return cls._from_flat(
            shapely.convex_hull(flat) if join == "hull" else flat, basis, None, parts=named, join=join
        )

    @classmethod
    def _from_flat(
        cls,
        flat: shapely.Geometry,
        basis: NDArray[np.float64],
        middle_deg: tuple[float, float] | None,
        *,
        parts: tuple[Part, ...] = (),
        join: Join = "apart",
    ) -> Region:
        """Return the region that polygons in a plane stand for; without parts, one of one ring is its own outline."""
        kept = without_slivers(flat)
        rings = tuple(
            ring_of(plane_to_vector(shapely.get_coordinates(ring)[:-1], basis)) for ring in rings_of(kept)
        )
        if len(rings) == 1 and not parts:
            return cls(rings[0], middle_deg)
        hull = shapely.get_coordinates(shapely.convex_hull(kept).exterior)[:-1]
        return cls(ring_of(plane_to_vector(hull, basis)), middle_deg, rings, parts, join)

    def cut_to(self, flat: shapely.Geometry) -> Region:
        """Return the region of polygons in this region's own plane.

        Raises
        ------
        InputError
            If they have no area, or touch themselves.
        """
        kept = without_slivers(flat)
        if kept.is_empty:
            raise InputError("the region has no area; give corners that are not on one line")
        try:
            return Region._from_flat(kept, self.basis, None)
        except shapely.errors.GEOSException as error:
            raise InputError("the region's outline touches itself; give pieces that lie apart") from error

    @classmethod
    def circle(cls, center_deg: tuple[float, float], radius_deg: float) -> Region:
        """Return the polygon that encloses a circle of angular radius in (0, 35] degrees."""
        angle = 2 * np.pi * np.arange(CIRCLE_CORNERS) / CIRCLE_CORNERS
        reach = steady.tan(math.radians(radius_deg)) / steady.cos(math.pi / CIRCLE_CORNERS)
        xy = reach * np.stack([-steady.sin(angle), steady.cos(angle)], axis=-1)
        return cls.from_vectors(plane_to_vector(xy, sky_basis(*center_deg, 0.0)), center_deg)

    @classmethod
    def rectangle(
        cls,
        center_deg: tuple[float, float],
        width_deg: float,
        height_deg: float,
        position_angle_deg: float = 0.0,
    ) -> Region:
        """Return the tangent plane rectangle with half sizes tan(width / 2), tan(height / 2)."""
        half = steady.tan(np.radians([width_deg, height_deg]) / 2)
        xy = half * np.array([[1, -1], [-1, -1], [-1, 1], [1, 1]])
        return cls.from_vectors(plane_to_vector(xy, sky_basis(*center_deg, position_angle_deg)), center_deg)

    @cached_property
    def outline_vectors(self) -> NDArray[np.float64]:
        """Corner vectors of the outline, shape (N, 3), in the order given."""
        return vectors_of(self.outline_deg)

    @cached_property
    def ring_vectors(self) -> tuple[NDArray[np.float64], ...]:
        """Corner vectors, shape (N, 3), of every ring."""
        return tuple(map(vectors_of, self.rings_deg))

    @cached_property
    def corner_vectors(self) -> NDArray[np.float64]:
        """Corner vectors of all rings, shape (N, 3)."""
        return np.concatenate(self.ring_vectors)

    @cached_property
    def basis(self) -> NDArray[np.float64]:
        """Tangent plane basis at the region's centre, position angle 0."""
        if self.middle_deg is not None:
            return sky_basis(*self.middle_deg, 0.0)
        if self.rings_deg != (self.outline_deg,):
            return basis_about(self.ring_vectors)
        mean = self.outline_vectors.mean(axis=0)
        if np.sqrt(steady.dot(mean, mean)) < 1e-3:
            raise InputError(TOO_WIDE)
        basis = sky_basis(*vector_to_sky(mean), 0.0)
        for _ in range(2):
            basis = centred(basis, self._project(basis))
        return basis

    def _project(self, basis: NDArray[np.float64]) -> NDArray[np.float64]:
        if steady.dot(self.outline_vectors, basis[2]).min() < steady.cos(math.radians(WIDEST_DEG)):
            raise InputError(TOO_WIDE)
        return vector_to_plane(self.outline_vectors, basis)

    @cached_property
    def polygon(self) -> shapely.Polygon | shapely.MultiPolygon:
        """The region in the tangent plane of its own `basis`, where its edges are straight."""
        outline = shapely.Polygon(self._project(self.basis))
        return outline if self.rings_deg == (self.outline_deg,) else self.seen_from(self.basis)

    def seen_from(self, basis: NDArray[np.float64]) -> shapely.Geometry:
        """Return the region in another tangent plane, shape (3, 3); all of it must lie in front of that."""
        return even_odd([vector_to_plane(ring, basis) for ring in self.ring_vectors])

    @cached_property
    def edges(self) -> NDArray[np.float64]:
        """Both ends, (E, 2, 2), of all edges in the plane of the region's `basis`, ring by ring in order."""
        xy, ring = shapely.get_coordinates(rings_of(self.polygon), return_index=True)
        return np.asarray(np.stack([xy[:-1], xy[1:]], axis=1)[ring[:-1] == ring[1:]])

    @cached_property
    def edge_rings(self) -> NDArray[np.intp]:
        """Number of the ring of each of the `edges`, shape (E,)."""
        counts = shapely.get_num_coordinates(rings_of(self.polygon)) - 1
        return np.repeat(np.arange(len(counts)), counts)

    @property
    def center_deg(self) -> tuple[float, float]:
        """The centre, ICRS degrees."""
        if self.middle_deg is not None:
            return self.middle_deg
        ra_deg, dec_deg = vector_to_sky(self.basis[2])
        return float(ra_deg), float(dec_deg)

    @cached_property
    def radius_rad(self) -> float:
        """Largest distance of a corner from the centre, radians."""
        return steady.arccos(float(np.clip(steady.dot(self.outline_vectors, self.basis[2]).min(), -1, 1)))

    @cached_property
    def area_deg2(self) -> float:
        """Solid angle, square degrees."""
        if len(self.rings_deg) == 1:
            return abs(polygon_area_sr(self.ring_vectors[0], self.basis[2])) * math.degrees(1.0) ** 2
        flat = shapely.orient_polygons(shapely.get_parts(self.polygon))
        rings = (
            plane_to_vector(shapely.get_coordinates(r)[:-1], self.basis) for r in shapely.get_rings(flat)
        )
        return abs(sum(polygon_area_sr(ring, self.basis[2]) for ring in rings)) * math.degrees(1.0) ** 2

    def grown(self, margin_deg: float) -> Region:
        """Return the region with everything within the margin added.

        Every edge gives the convex hull of the polygons about the discs at its ends: it encloses all points
        within the margin, since a great circle between points of equal distance runs further out than the
        parallel. The growth exceeds the margin by up to 0.5 per cent at the corners.
        """
        if margin_deg == 0.0:
            return self
        discs = [self._discs(ring, math.radians(margin_deg)) for ring in self.ring_vectors]
        pairs = [np.concatenate([each, np.roll(each, -1, axis=0)], axis=1) for each in discs]
        strips = shapely.convex_hull(shapely.linestrings(np.concatenate(pairs)))
        whole = shapely.union_all([*strips, self.polygon])
        return Region._from_flat(whole, self.basis, self.middle_deg)

    def _discs(self, corners: NDArray[np.float64], radius_rad: float) -> NDArray[np.float64]:
        """Circumscribed polygons about the discs at corners, in the region's plane, (N, corners, 2)."""
        angle = 2 * np.pi * np.arange(DISC_CORNERS) / DISC_CORNERS
        reach = steady.tan(radius_rad) / steady.cos(math.pi / DISC_CORNERS)
        xy = reach * np.stack([steady.cos(angle), steady.sin(angle)], axis=-1)
        bases = sky_basis(*vector_to_sky(corners), 0.0)
        return vector_to_plane(plane_to_vector(xy, bases[:, None]), self.basis)


@dataclass(frozen=True)
class Part:
    """One thing of several that a region is put together from.

    Parameters
    ----------
    name : str
    region : Region
        After the margin.
    margin_arcmin : float
        By which it has been grown.
    """

    name: str
    region: Region
    margin_arcmin: float = 0.0

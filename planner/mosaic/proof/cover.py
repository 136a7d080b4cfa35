"""The proof of coverage: exact, by polygons whose edges are great circles.

With P_i the panels, R the region and (+) the Minkowski sum with the box, a plan serves every point of R if and
only if R minus the union over i of (R minus ((R minus P_i) (+) box_i)) is empty. In the tangent plane of panel i
great circles are straight and the box is a fixed axis-parallel rectangle, so the points that panel i serves, its
*core*, are a polygon: the panel's part of R without what the box sweeps along R minus P_i. The cores meet in the
tangent plane of R, where great circles are straight too.

Rounding: boxes are widened and shapes narrowed by `TRIM` (radians), and what is left of R counts as a gap only
where a disc of radius `HAIR`, a fifth of that, fits in. So whatever is called covered is covered.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.geometry import (
    plane_change,
    plane_to_vector,
    seen_through,
    steady,
    vector_to_plane,
    vector_to_sky,
)
from planner.mosaic.demand import Demand
from planner.mosaic.panel import Shape
from planner.mosaic.region import Region
from planner.mosaic.rings import polygon_area_sr

from .sweep import are_convex, without_swept

__all__ = ["Cover", "Gap", "find_gap", "without_hairs"]

TRIM = 1e-11
"""Safety in radians (2 microarcseconds) taken off every core."""
HAIR = 2e-12
"""Gaps in which no disc of this radius fits are rounding."""
SURELY_WIDE = 1e4 * HAIR
"""Gaps whose area is more than this times their rim are no rounding: a disc of radius area / rim fits in."""
LOWEST_DEPTH = 0.05
"""Points less than this times the unit sphere in front of a tangent plane's centre are cut off first."""


@dataclass(frozen=True)
class Gap:
    """What no panel serves, as polygons in the region's tangent plane.

    Parameters
    ----------
    region : Region
    shapes : shapely geometry
        Empty where there is no gap.
    """

    region: Region
    shapes: shapely.Geometry

    def __bool__(self) -> bool:
        return not self.shapes.is_empty

    @cached_property
    def parts(self) -> list[shapely.Polygon]:
        """The gaps one by one, the largest first."""
        parts = (part for part in shapely.get_parts(self.shapes) if not part.is_empty)
        return sorted(parts, key=lambda part: -part.area)

    @cached_property
    def area_deg2(self) -> float:
        """Solid angle of all gaps, square degrees; exactly 0 without a gap."""
        rings = [
            np.asarray(ring.coords)[:-1] for part in self.parts for ring in (part.exterior, *part.interiors)
        ]
        signs = [1 if k == 0 else -1 for part in self.parts for k in range(1 + len(part.interiors))]
        vectors = (plane_to_vector(ring, self.region.basis) for ring in rings)
        areas = (abs(polygon_area_sr(v, self.region.basis[2])) for v in vectors)
        return sum(s * a for s, a in zip(signs, areas, strict=True)) * math.degrees(1.0) ** 2

    def points(self, most: int = 200) -> NDArray[np.float64]:
        """Unit vectors (N, 3) inside the gaps, one in the deepest place of each, the largest gaps first."""
        if not self:
            return np.zeros((0, 3))
        lines = shapely.maximum_inscribed_circle(np.array(self.parts[:most]), tolerance=0.0)
        xy = shapely.get_coordinates(shapely.get_point(lines, 0))
        return plane_to_vector(xy, self.region.basis)

    @property
    def center_deg(self) -> tuple[float, float] | None:
        """ICRS position inside the largest gap, its centre of area if that lies inside; None without a gap."""
        if not self:
            return None
        part = self.parts[0]
        middle = part.centroid if part.contains(part.centroid) else part.representative_point()
        ra_deg, dec_deg = vector_to_sky(plane_to_vector([middle.x, middle.y], self.region.basis))
        return float(ra_deg), float(dec_deg)

    @cached_property
    def _largest_disc(self) -> tuple[int, float]:
        """Which of the largest gaps the largest disc fits into, and its radius; 0 without a gap.

        Gaps are looked at as long as a wider rectangle holds one than a disc that has been found.
        """
        parts = np.array(self.parts[:200], dtype=object)
        widest = _half_widths(parts)
        number, radius = 0, 0.0
        for index in np.argsort(-widest, kind="stable").tolist():
            if widest[index] < radius:
                break
            found = shapely.maximum_inscribed_circle(parts[index], tolerance=0.0).length
            if (found, -index) > (radius, -number):
                number, radius = index, found
        return number, radius

    @property
    def depth_rad(self) -> float:
        """Radius of the largest disc that fits into a gap, in the region's tangent plane; 0 without a gap."""
        return self._largest_disc[1]

    @property
    def deepest(self) -> Gap:
        """The gap into which the largest disc fits, alone."""
        return Gap(self.region, self.parts[self._largest_disc[0]]) if self else self


class Cover:
    """Panels over a region: what they serve and what they leave.

    Parameters
    ----------
    region : Region
    bases : array_like, shape (N, 3, 3)
        Panel bases (left, up, out).
    own : sequence, optional
        For each panel None, or the corners in its tangent plane of what it shows in place of a demand's shape: ground
        that frames have shown, whatever their size.
    """

    def __init__(self, region: Region, bases: ArrayLike, own: Sequence[Shape | None] | None = None) -> None:
        self.region = region
        self.bases = np.asarray(bases, dtype=float).reshape(-1, 3, 3)
        self.own = tuple(own) if own is not None and any(own) else None
        self._cores: dict[Demand, NDArray[np.object_]] = {}
        self._before: Cover | None = None
        shapely.prepare(region.polygon)

    def moved(self, bases: ArrayLike) -> Cover:
        """Return a cover of panels with other bases, (M, 3, 3); of those that stand as here the cores are kept.

        Both are without shapes of their own.
        """
        other = Cover(self.region, bases)
        other._before, self._before = self, None
        return other

    def gap(
        self, demand: Demand, *, within: shapely.Geometry | None = None, panels: Sequence[int] | None = None
    ) -> Gap:
        """Return the points of the region that no panel serves.

        Parameters
        ----------
        demand : Demand
        within : shapely geometry, optional
            Look only here (in the region's tangent plane).
        panels : sequence of int, optional
            Use only these panels.
        """
        rest = self.region.polygon if within is None else within
        cores = self.cores(demand, panels)
        cores = cores[~shapely.is_empty(cores)]
        left = shapely.difference(rest, shapely.union_all(cores)) if len(cores) else rest
        return Gap(self.region, without_hairs(left))

    def first_gap(self, demands: Sequence[Demand]) -> Gap:
        """Return the gap under the first of the demands that is not met; an empty one if all are."""
        gap = Gap(self.region, shapely.Polygon())
        for demand in demands:
            gap = self.gap(demand)
            if gap:
                break
        return gap

    def cores(self, demand: Demand, panels: Sequence[int] | None = None) -> NDArray[np.object_]:
        """Return each panel's core as a geometry in the region's tangent plane, shape (N,).

        Parameters
        ----------
        demand : Demand
        panels : sequence of int, optional
            Only these panels.
        """
        if panels is not None:
            return self._cores_by_shape(np.array(panels, dtype=np.intp), demand)
        if demand not in self._cores:
            self._cores[demand] = self._all_cores(demand)
        return self._cores[demand]

    def _all_cores(self, demand: Demand) -> NDArray[np.object_]:
        """Cores of all panels, those that are known from before among them."""
        before = self._before._cores.get(demand) if self._before else None
        if self._before is None or before is None or not len(before):
            return self._cores_by_shape(np.arange(len(self.bases)), demand)
        same = (self.bases[:, None] == self._before.bases).all(axis=(2, 3))
        cores = np.empty(len(self.bases), dtype=object)
        new, known = np.flatnonzero(~same.any(axis=1)), np.flatnonzero(same.any(axis=1))
        cores[known] = before[same[known].argmax(axis=1)]
        cores[new] = self._cores_by_shape(new, demand)
        return cores

    def reach_rad(self, demand: Demand) -> float:
        """How far from its centre a panel shows the sky at most, under a demand or by a shape of its own."""
        corners = [demand.half_size, *(shape[0] for shape in self.own or () if shape)]
        return max(steady.arctan(steady.hypot(*corner)) for corner in corners)

    def _cores_by_shape(self, panels: NDArray[np.intp], demand: Demand) -> NDArray[np.object_]:
        """Cores of some panels; those with a shape of their own by that."""
        if self.own is None:
            return self._cores_of(self.bases[panels], demand)
        cores = np.full(len(panels), shapely.Polygon(), dtype=object)
        shapes = [self.own[panel] for panel in panels]
        for shape in dict.fromkeys(shapes):
            mine = np.array([one == shape for one in shapes])
            asked = demand if shape is None else Demand(shape, demand.box)
            cores[mine] = self._cores_of(self.bases[panels[mine]], asked)
        return cores

    def _cores_of(self, bases: NDArray[np.float64], demand: Demand) -> NDArray[np.object_]:
        cores = np.full(len(bases), shapely.Polygon(), dtype=object)
        if not demand.shape or not len(bases):
            return cores
        inner, rim = self._sorted_by_place(bases, demand)
        cores[inner] = self._inner_cores(bases[inner], demand)
        cores[rim] = self._rim_cores(bases[rim], demand)
        return cores

    def _sorted_by_place(
        self, bases: NDArray[np.float64], demand: Demand
    ) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Indices of panels whose surroundings lie wholly, and partly, inside the region."""
        x, y = _surroundings(demand)
        near = steady.dot(bases[:, 2], self.region.basis[2]) > steady.cos(
            min(math.pi, self.region.radius_rad + steady.arctan(steady.hypot(x, y)) + 1e-6)
        )
        corners = plane_to_vector(np.array([[x, y], [-x, y], [-x, -y], [x, -y]]), bases[:, None])
        front = steady.dot(corners, self.region.basis[2]).min(axis=1) > LOWEST_DEPTH
        inside = np.zeros(len(bases), dtype=bool)
        rings = vector_to_plane(corners[near & front], self.region.basis)
        inside[near & front] = shapely.contains_properly(self.region.polygon, shapely.polygons(rings))
        return np.flatnonzero(inside), np.flatnonzero(near & ~inside)

    def _inner_cores(self, bases: NDArray[np.float64], demand: Demand) -> NDArray[np.object_]:
        eroded = demand.core_corners(3 * TRIM) if len(bases) else ()
        if not len(eroded):
            return np.full(len(bases), shapely.Polygon(), dtype=object)
        rings = seen_through(eroded, plane_change(bases, self.region.basis)[:, None])
        return np.asarray(shapely.polygons(rings))

    def _rim_cores(self, bases: NDArray[np.float64], demand: Demand) -> NDArray[np.object_]:
        """Cores of panels at the rim of the region, by sweeping the box along what they miss."""
        if not len(bases):
            return np.zeros(0, dtype=object)
        shape, reach = _trimmed(demand.shape), _surroundings(demand)
        box = (demand.box[0] + TRIM, demand.box[1] + TRIM)
        core = without_swept(self._in_panel_planes(bases), shape, box, reach, all_convex=self._convex)
        return self._to_region_plane(_polygons_only(core), bases)

    def _in_panel_planes(self, bases: NDArray[np.float64]) -> NDArray[np.object_]:
        """Return the region in every panel's tangent plane, cut where it leaves the panel's half of the sky."""
        corners = self.region.corner_vectors
        whole = steady.times(corners, bases[:, 2].T).min(axis=0) > LOWEST_DEPTH
        found = np.empty(len(bases), dtype=object)
        if whole.any() and len(self.region.rings_deg) == 1:
            found[whole] = shapely.polygons(vector_to_plane(corners, bases[whole][:, None]))
        elif whole.any():
            xy = vector_to_plane(self._all_corners, bases[whole][:, None])
            copies = np.full(len(xy), self.region.polygon, dtype=object)
            found[whole] = shapely.set_coordinates(copies, xy.reshape(-1, 2))
        for index in np.flatnonzero(~whole):
            found[index] = self._front_part(bases[index])
        return found

    @cached_property
    def _convex(self) -> bool:
        """Whether the region is convex, and so are its images in all planes."""
        return bool(are_convex(np.array([self.region.polygon], dtype=object))[0])

    @cached_property
    def _all_corners(self) -> NDArray[np.float64]:
        """Unit vectors (N, 3) of the coordinates of the region's polygon, in their order."""
        return plane_to_vector(shapely.get_coordinates(self.region.polygon), self.region.basis)

    def _front_part(self, basis: NDArray[np.float64]) -> shapely.Geometry:
        """Return the region in one panel's plane after cutting off what lies behind or far to the side."""
        a, b, c = steady.dot(self.region.basis, basis[2] - LOWEST_DEPTH * self.region.basis[2])
        corners = np.asarray(shapely.box(*self.region.polygon.buffer(1.0).bounds).exterior.coords)[:-1]
        front = shapely.intersection(self.region.polygon, _half_plane(a, b, c, corners))

        def to_panel(xy: NDArray[np.float64]) -> NDArray[np.float64]:
            return vector_to_plane(plane_to_vector(xy, self.region.basis), basis)

        return shapely.transform(front, to_panel)

    def _to_region_plane(
        self, shapes: NDArray[np.object_], bases: NDArray[np.float64]
    ) -> NDArray[np.object_]:
        xy, owner = shapely.get_coordinates(shapes, return_index=True)
        seen = seen_through(xy, plane_change(bases, self.region.basis)[owner])
        return np.asarray(shapely.set_coordinates(shapes.copy(), seen))


def find_gap(region: Region, bases: ArrayLike, demands: Sequence[Demand]) -> Gap:
    """Return the first gap that panels leave under any of the demands; an empty one if they meet all.

    Parameters
    ----------
    region : Region
    bases : array_like, shape (N, 3, 3)
    demands : sequence of Demand
    """
    return Cover(region, bases).first_gap(demands)


def _surroundings(demand: Demand) -> tuple[float, float]:
    """Half sizes of the rectangle around a panel that decides about its core."""
    (a, b), (p, q) = demand.half_size, demand.box
    return a + p + 3 * TRIM, b + q + 3 * TRIM


@lru_cache(maxsize=64)
def _trimmed(shape: Shape) -> shapely.Polygon:
    """A panel's shape, a hair smaller."""
    scale = 1.0 - 2 * TRIM / min(Demand(shape, (0.0, 0.0)).half_size)
    return shapely.Polygon(np.array(shape) * scale)


def _polygons_only(shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Drop the points and lines that intersections leave."""
    kinds = shapely.get_type_id(shapes)
    for index in np.flatnonzero((kinds != 3) & (kinds != 6)):
        parts = [part for part in shapely.get_parts(shapes[index]) if part.geom_type == "Polygon"]
        shapes[index] = shapely.union_all(parts) if parts else shapely.Polygon()
    return shapes


def without_hairs(shape: shapely.Geometry) -> shapely.Geometry:
    """Drop the parts in which no disc of radius `HAIR` fits."""
    parts = shapely.get_parts(shape)
    parts = parts[shapely.get_type_id(parts) == 3]
    parts = parts[shapely.area(parts) > HAIR * HAIR]
    thin = np.flatnonzero(shapely.area(parts) <= SURELY_WIDE * shapely.length(parts))
    parts = np.delete(parts, thin[shapely.is_empty(shapely.buffer(parts[thin], -HAIR))])
    return shapely.multipolygons(parts) if len(parts) else shapely.Polygon()


def _half_widths(shapes: NDArray[np.object_]) -> NDArray[np.float64]:
    """Half the shorter sides of the smallest rectangles about shapes, a hair more: no larger disc fits in."""
    around = shapely.oriented_envelope(shapes)
    area, half_rim = shapely.area(around), shapely.length(around) / 2
    longer = half_rim / 2 + np.sqrt(np.maximum(half_rim * half_rim / 4 - area, 0.0))
    return np.asarray(area / np.maximum(longer, HAIR) / 2 * (1 + 1e-6) + HAIR)


def _half_plane(a: float, b: float, c: float, corners: NDArray[np.float64]) -> shapely.Geometry:
    """Part of the convex polygon of corners where a x + b y + c >= 0."""
    value = steady.dot(corners, [a, b]) + c
    following, next_value = np.roll(corners, -1, axis=0), np.roll(value, -1)
    kept: list[NDArray[np.float64]] = []
    for p, v, q, w in zip(corners, value, following, next_value, strict=True):
        if v >= 0:
            kept.append(p)
        if (v >= 0) != (w >= 0):
            kept.append(p + (q - p) * v / (v - w))
    return shapely.Polygon(kept) if len(kept) > 2 else shapely.Polygon()

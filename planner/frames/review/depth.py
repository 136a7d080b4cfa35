"""Depth: how long every point of a region was exposed, exactly, by footprints.

In the tangent plane at the region's centre the edges of footprints are straight. Together they cut the region
into cells; inside a cell all points lie in the same frames. No pixels are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, triangle_area_sr, vector_to_plane, vector_to_sky
from planner.mosaic.region import Region

from .footprints import Footprints

__all__ = ["DepthMap", "LeastDepth", "depth_map"]

MOST_FOOTPRINTS = 200
"""Up to so many different grounds every frame counts fully; more are grouped, and a group where all of it looks."""
SAME = 1e-10
"""Grounds whose corners agree within so many radians are the same."""
FIRST_STEP, STEP_FACTOR = 1e-4, 2.5
"""Grounds are grouped by their corners in steps of this part of the field, then ever larger ones."""
SLIVER = 1e-7
"""Cells narrower than this part of the field's short side are rounding and no place for the least depth."""


@dataclass(frozen=True)
class LeastDepth:
    """Least exposure of any point of the region.

    Parameters
    ----------
    seconds : float
    ra_deg, dec_deg : float
        A point that has no more, ICRS degrees.
    area_deg2 : float
        How much of the region has no more.
    """

    seconds: float
    ra_deg: float
    dec_deg: float
    area_deg2: float


@dataclass(frozen=True)
class DepthMap:
    """Cells of a region and their exposure.

    Parameters
    ----------
    region : Region
    cells : tuple of shapely polygon
        In the region's tangent plane; together they are the region.
    seconds : ndarray, shape (cells, filters)
        Exposure of each cell through each filter.
    filters : tuple of str
    exact : bool
        Whether every frame counted on its own; else the depth is never overstated.
    dark_sky : DepthMap, optional
        The same cells with what their exposure is worth at a dark sky.
    """

    region: Region
    cells: tuple[shapely.Polygon, ...]
    seconds: NDArray[np.float64]
    filters: tuple[str, ...]
    exact: bool
    dark_sky: DepthMap | None = None

    @property
    def total(self) -> NDArray[np.float64]:
        """Exposure of each cell through all filters together, seconds."""
        return np.asarray(self.seconds.sum(axis=1))

    @cached_property
    def areas_deg2(self) -> NDArray[np.float64]:
        """Solid angle of each cell, square degrees, shape (cells,)."""
        return _areas_deg2(np.array(self.cells), self.region)

    def least(self, filter_name: str | None = None) -> LeastDepth:
        """Least depth through one filter, or through all together, and where it is."""
        depth = self.total if filter_name is None else self.seconds[:, self.filters.index(filter_name)]
        low = next(value for value in np.unique(depth) if self._has_room(depth <= value))
        same = depth <= low
        widest = self.cells[int(np.flatnonzero(same)[np.argmax(self.areas_deg2[same])])]
        point = shapely.get_coordinates(shapely.maximum_inscribed_circle(widest, tolerance=0.0))[0]
        ra_deg, dec_deg = vector_to_sky(plane_to_vector(point, self.region.basis))
        return LeastDepth(float(low), float(ra_deg), float(dec_deg), float(self.areas_deg2[same].sum()))

    def _has_room(self, chosen: NDArray[np.bool_]) -> bool:
        """Whether any of these cells is more than rounding."""
        x0, y0, x1, y1 = self.region.polygon.bounds
        cells = np.array(self.cells)[chosen]
        return not bool(shapely.is_empty(shapely.buffer(cells, -SLIVER * min(x1 - x0, y1 - y0))).all())


def depth_map(
    region: Region,
    footprints: Footprints,
    filters: Sequence[str],
    *,
    dark_sky_seconds: NDArray[np.float64] | None = None,
) -> DepthMap:
    """Cut a region into cells of equal exposure.

    Parameters
    ----------
    region : Region
    footprints : Footprints
        Their filter numbers count in `filters`; frames of other numbers count through none.
    filters : sequence of str
    dark_sky_seconds : ndarray, shape (N,), optional
        What each frame's exposure is worth at a dark sky.
    """
    names = tuple(filters)
    counted = [footprints.seconds] if dark_sky_seconds is None else [footprints.seconds, dark_sky_seconds]
    shapes, seconds, exact = _weighted_shapes(region, footprints, np.stack(counted, axis=1), len(names))
    cells = _cells(region.polygon, shapes)
    inside = np.array([cell.representative_point() for cell in cells])
    depth = np.zeros((len(cells), *seconds.shape[1:]))
    if len(shapes):
        shape, cell = shapely.STRtree(inside).query(shapes, predicate="contains")
        np.add.at(depth, cell, seconds[shape])
    maps = [DepthMap(region, tuple(cells), depth[:, kind], names, exact) for kind in range(len(counted))]
    return maps[0] if len(maps) == 1 else replace(maps[0], dark_sky=maps[1])


def _weighted_shapes(
    region: Region, footprints: Footprints, counted: NDArray[np.float64], filters: int
) -> tuple[NDArray[np.object_], NDArray[np.float64], bool]:
    """Polygons in the region's plane, their seconds through each filter, and whether every frame counts fully.

    `counted`, shape (N, K), holds K kinds of seconds of every frame; those of the polygons are of shape
    (polygons, K, filters).
    """
    corners = footprints.corners()
    seen = (corners @ region.basis[2]).min(axis=1) > 0.05 if len(footprints) else np.zeros(0, dtype=bool)
    frames, corners = footprints.chosen(seen), vector_to_plane(corners[seen], region.basis)
    seconds = np.zeros((len(frames), counted.shape[1], filters))
    known = np.flatnonzero(frames.filters >= 0)
    seconds[known, :, frames.filters[known]] = counted[seen][known]
    group = _same_ground(corners, frames.panels, SAME)
    exact = int(group.max(initial=0)) < MOST_FOOTPRINTS
    if not exact:
        fewer = _few_groups(corners, frames.panels, float(frames.half_sizes.min()))
        exact, group = bool(fewer.max() == group.max()), fewer
    return *_grouped(corners, seconds, group), exact


def _few_groups(corners: NDArray[np.float64], panels: NDArray[np.intp], half_size: float) -> NDArray[np.intp]:
    """Group frames by their ground ever more coarsely until few groups remain, never across panels."""
    most = max(MOST_FOOTPRINTS, len(np.unique(panels)))
    step = FIRST_STEP * half_size
    group = _same_ground(corners, panels, step)
    while group.max() >= most and step < half_size:
        step *= STEP_FACTOR
        group = _same_ground(corners, panels, step)
    return group


def _same_ground(corners: NDArray[np.float64], panels: NDArray[np.intp], step: float) -> NDArray[np.intp]:
    """Number of each frame's group: same panel, corners within a step, either way up."""
    steps = np.round(corners / step)
    turned = np.roll(steps, 2, axis=1)  # upside down: the same corners begin at the opposite one
    upright = steps[:, 0] @ [1.0, np.pi] <= turned[:, 0] @ [1.0, np.pi]
    key = np.where(upright[:, None, None], steps, turned).reshape(len(corners), 8)
    found = np.unique(_row_keys(np.column_stack([panels, key])), return_inverse=True)[1]
    return np.asarray(found, dtype=np.intp).ravel()


def _row_keys(rows: NDArray[np.float64]) -> NDArray[np.uint64]:
    """One number for each row of whole numbers, the same for the same row; sorts 20 times faster than rows.

    Multiply-shift hashing (Dietzfelbinger et al. 1997, J. Algorithms 25, 19) in 64 bits. Should two rows ever share
    a number, a group gets ground that only all of it has in common, so depth is still never overstated.
    """
    odd = 2 * np.random.default_rng(1).integers(1, 1 << 62, (rows.shape[1],)) + 1
    factors = odd.astype(np.uint64)
    whole = rows.astype(np.int64).view(np.uint64)
    mixed = whole * factors
    return np.asarray((mixed ^ (mixed >> np.uint64(29))) @ factors[::-1], dtype=np.uint64)


def _grouped(
    corners: NDArray[np.float64], seconds: NDArray[np.float64], group: NDArray[np.intp]
) -> tuple[NDArray[np.object_], NDArray[np.float64]]:
    """Common ground and summed seconds of each group."""
    count = int(group.max(initial=-1)) + 1
    sums = np.zeros((count, *seconds.shape[1:]))
    np.add.at(sums, group, seconds)
    order = np.argsort(group, kind="stable")
    parts = np.split(corners[order], np.flatnonzero(np.diff(group[order])) + 1) if count else []
    return np.array([_common_ground(part) for part in parts], dtype=object), sums


def _common_ground(corners: NDArray[np.float64]) -> shapely.Polygon:
    """Intersection of convex polygons, shape (K, 4, 2): the dual of the hull of their sides' poles.

    Far steadier than cutting polygons with almost equal sides one by one.
    """
    if len(corners) == 1:
        return shapely.Polygon(corners[0])
    along = np.roll(corners, -1, axis=1) - corners
    normals = np.stack([along[..., 1], -along[..., 0]], axis=-1)
    middle = corners.mean(axis=(0, 1))
    room = np.sum(normals * (corners - middle), axis=-1)
    if room.min() < 0 < room.max():
        return shapely.Polygon()  # no ground in common that holds the middle of all
    poles = shapely.LineString((normals / room[..., None]).reshape(-1, 2))
    hull = np.asarray(shapely.convex_hull(poles).exterior.coords)
    edge = np.diff(hull, axis=0)
    outward = np.stack([edge[:, 1], -edge[:, 0]], axis=-1)
    return shapely.Polygon(outward / np.sum(outward * hull[:-1], axis=-1, keepdims=True) + middle)


def _cells(region: shapely.Polygon, shapes: NDArray[np.object_]) -> list[shapely.Polygon]:
    """Parts into which the edges of the shapes cut the region."""
    lines = shapely.boundary(np.concatenate([np.array([region], dtype=object), shapes]))
    noded = shapely.union_all(lines)
    parts = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    inside = np.array([part.representative_point() for part in parts], dtype=object)
    return list(parts[shapely.contains(region, inside)])


def _areas_deg2(cells: NDArray[np.object_], region: Region) -> NDArray[np.float64]:
    """Solid angles of polygons in the region's plane: triangles from its centre, holes counting less."""
    rings, cell = shapely.get_rings(shapely.orient_polygons(cells), return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    corners = plane_to_vector(xy, region.basis)
    joined = ring[1:] == ring[:-1]
    parts = triangle_area_sr(region.basis[2], corners[:-1][joined], corners[1:][joined])
    sums = np.bincount(cell[ring[1:][joined]], weights=parts, minlength=len(cells))
    return np.asarray(np.degrees(np.degrees(np.abs(sums))), dtype=float)

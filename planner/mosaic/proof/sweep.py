"""What the box sweeps along the parts of a region that a panel misses: none of it lies in the panel's core.

The part of a convex region beyond one side of a panel is convex, so what the box sweeps over it is the convex hull
of its corners with the box about each. Elsewhere every edge of what is missed sweeps a hexagon.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import steady

__all__ = ["are_convex", "without_swept"]

NOTCH = 1e-12
"""A shape counts as convex if its convex hull is larger by at most this part: cores only become smaller by it."""
CORNERS = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])

Shapes = NDArray[np.object_]
Owners = NDArray[np.intp]


def without_swept(
    regions: Shapes,
    shape: shapely.Polygon,
    box: tuple[float, float],
    reach: tuple[float, float],
    *,
    all_convex: bool = False,
) -> Shapes:
    """Parts of regions in a convex shape around whose points the box holds nothing of the region outside it.

    Parameters
    ----------
    regions : ndarray of geometry, shape (N,)
        In the tangent planes of N panels.
    shape : shapely polygon
        Convex, its corners counter-clockwise.
    box, reach : (float, float)
        Half sizes; what of the regions lies beyond `reach` does not count, so that must be larger than the half
        sizes of shape and box together.
    all_convex : bool
        Whether all regions are known to be convex; if not, each is looked at.
    """
    local, convex = _cut_to(regions, reach, all_convex)
    inside = _inside(local, shape, convex)
    at = np.flatnonzero(convex)
    swept, owner = _beyond_sides(local[at], shape, box)
    inside[at] = _cut(inside[at], swept, owner)
    at = np.flatnonzero(~convex)
    if len(at):
        swept, owner = _along_edges(shapely.difference(local[at], shape), box, reach)
        inside[at] = shapely.difference(inside[at], _grouped_union(swept, owner, len(at)))
    return np.asarray(inside)


def _cut_to(
    regions: Shapes, reach: tuple[float, float], all_convex: bool
) -> tuple[Shapes, NDArray[np.bool_]]:
    """Regions cut to a rectangle, and whether what is left of each is convex."""
    convex = np.ones(len(regions), dtype=bool) if all_convex else are_convex(regions)
    local = np.empty_like(regions)
    local[convex] = shapely.clip_by_rect(regions[convex], -reach[0], -reach[1], *reach)
    local[~convex] = shapely.intersection(regions[~convex], shapely.box(-reach[0], -reach[1], *reach))
    convex[~convex] = are_convex(local[~convex])
    return local, convex


def _inside(local: Shapes, shape: shapely.Polygon, convex: NDArray[np.bool_]) -> Shapes:
    """Parts of regions in a shape."""
    bounds = shape.bounds
    if shape.area < (1 - NOTCH) * (bounds[2] - bounds[0]) * (bounds[3] - bounds[1]):
        return np.asarray(shapely.intersection(local, shape))
    inside = np.empty_like(local)
    inside[convex] = shapely.clip_by_rect(local[convex], *bounds)
    inside[~convex] = shapely.intersection(local[~convex], shape)
    return inside


def _beyond_sides(regions: Shapes, shape: shapely.Polygon, box: tuple[float, float]) -> tuple[Shapes, Owners]:
    """What the box sweeps over the parts of convex regions beyond each side of a shape, and whose part it is."""
    corners = np.asarray(shape.exterior.coords)
    along = np.diff(corners, axis=0)
    normals = np.stack([along[:, 1], -along[:, 0]], axis=-1)
    xy, owner = shapely.get_coordinates(regions, return_index=True)
    past = steady.times(xy, normals.T) - steady.dot(normals, corners[:-1])
    out = past > 0
    point, side = np.nonzero(out)
    start, crossed = np.nonzero((out[1:] != out[:-1]) & (owner[1:] == owner[:-1])[:, None])
    before, after = past[start, crossed], past[start + 1, crossed]
    rim = xy[start] + (xy[start + 1] - xy[start]) * (before / (before - after))[:, None]
    points = np.concatenate([xy[point], rim])
    key = np.concatenate([owner[point], owner[start]]) * len(normals) + np.concatenate([side, crossed])
    order = np.argsort(key, kind="stable")
    key = key[order]
    first = np.diff(key, prepend=-1) > 0
    around = points[order][:, None] + CORNERS * box
    lines = shapely.linestrings(around.reshape(-1, 2), indices=np.repeat(np.cumsum(first) - 1, len(CORNERS)))
    return np.asarray(shapely.convex_hull(lines)), key[first] // len(normals)


def are_convex(shapes: Shapes) -> NDArray[np.bool_]:
    """Whether shapes are convex, but for a hair."""
    whole = shapely.area(shapely.convex_hull(shapes))
    return np.asarray(whole - shapely.area(shapes) <= NOTCH * whole)


def _cut(shapes: Shapes, parts: Shapes, owner: Owners) -> Shapes:
    """Shapes without the parts that each owns; owners in order."""
    number = np.arange(len(owner)) - np.searchsorted(owner, owner)
    for k in range(int(number.max(initial=-1)) + 1):
        at = number == k
        shapes[owner[at]] = shapely.difference(shapes[owner[at]], parts[at])
    return shapes


def _along_edges(
    shapes: Shapes, box: tuple[float, float], reach: tuple[float, float]
) -> tuple[Shapes, Owners]:
    """Hexagons that the box sweeps along the rims of shapes, but for edges at the reach, and whose each is."""
    lines, line_owner = shapely.get_parts(shapely.boundary(shapes), return_index=True)
    xy, line = shapely.get_coordinates(lines, return_index=True)
    ends = np.stack([xy[:-1], xy[1:]], axis=1)
    far = (np.abs(ends) >= reach).all(axis=1).any(axis=-1)
    edges = (line[1:] == line[:-1]) & ~far
    ends = ends[edges]
    corners = (ends[:, :, None, :] + CORNERS * box).reshape(len(ends), 8, 2)
    return np.asarray(shapely.convex_hull(shapely.linestrings(corners))), line_owner[line[1:][edges]]


def _grouped_union(shapes: Shapes, owner: Owners, count: int) -> Shapes:
    sizes = np.bincount(owner, minlength=count)
    table = np.full((count, max(1, int(sizes.max(initial=0)))), None, dtype=object)
    order = np.argsort(owner, kind="stable")
    column = np.arange(len(owner)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    table[owner[order], column] = shapes[order]
    return np.asarray(shapely.union_all(table, axis=1))

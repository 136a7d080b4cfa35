"""Closed lines on the sphere: between corners and planes, what they hold together, and the plane that shows them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import reduce

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError
from planner.geometry import (
    plane_to_vector,
    separation_rad,
    sky_basis,
    sky_to_vector,
    steady,
    triangle_area_sr,
    vector_to_sky,
)

__all__ = [
    "WIDEST_DEG",
    "Ring",
    "centred",
    "even_odd",
    "following_in_rings",
    "basis_about",
    "polygon_area_sr",
    "ring_of",
    "rings_of",
    "vectors_of",
    "without_slivers",
]

Ring = tuple[tuple[float, float], ...]
"""Corners of a closed line, ICRS right ascension and declination, degrees."""
WIDEST_DEG = 70.0
"""Largest distance of a region's corner from its centre."""
SLIVER = 1e-20
"""Pieces and holes of less area (steradians) come from rounding where rings touch."""
LEAST_DEPTH = 0.05
"""Points nearer than this to the far side of the sphere, in radii, are not projected."""
STEPS_TO_MIDDLE = 12
"""Steps towards the middle of the smallest cap about points; an error falls at least to half with each."""


def ring_of(vectors: ArrayLike) -> Ring:
    """Return the corners of a line from unit vectors (N, 3); the other way is `vectors_of`."""
    ra_deg, dec_deg = vector_to_sky(vectors)
    return tuple(zip(ra_deg.tolist(), dec_deg.tolist(), strict=True))


def vectors_of(ring: Ring) -> NDArray[np.float64]:
    """Unit vectors (N, 3) of the corners of a line; the other way is `ring_of`."""
    ra_deg, dec_deg = np.array(ring, dtype=float).T
    return sky_to_vector(ra_deg, dec_deg)


def even_odd(rings: Iterable[NDArray[np.float64]]) -> shapely.Geometry:
    """What an odd number of closed outlines in a plane hold."""
    return without_slivers(reduce(shapely.symmetric_difference, map(shapely.Polygon, rings)))


def rings_of(flat: shapely.Geometry) -> NDArray[np.object_]:
    """Outlines of polygons and of the holes in them."""
    return np.asarray(shapely.get_rings(shapely.get_parts(flat)))


def without_slivers(flat: shapely.Geometry) -> shapely.Polygon | shapely.MultiPolygon:
    """Polygons without the pieces and holes that rounding leaves, and without lines."""
    parts = shapely.get_parts(flat)
    parts = parts[(shapely.get_type_id(parts) == 3) & (shapely.area(parts) > SLIVER)]
    kept = [
        shapely.Polygon(
            part.exterior, [hole for hole in part.interiors if shapely.Polygon(hole).area > SLIVER]
        )
        for part in parts
    ]
    return kept[0] if len(kept) == 1 else shapely.MultiPolygon(kept)


def basis_about(rings: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Tangent plane basis in the middle of the smallest cap about outlines.

    A stereographic plane keeps circles: where the smallest circle about all points stands in its middle, that is the
    smallest cap.
    """
    vectors = np.concatenate(rings)
    middle = np.sum([ring.mean(axis=0) for ring in rings], axis=0) + 1e-9 * vectors[0]
    basis = sky_basis(*vector_to_sky(middle), 0.0)
    for _ in range(STEPS_TO_MIDDLE):
        left, up, out = steady.times(basis, vectors.T)
        behind = out < LEAST_DEPTH - 1.0
        flat = np.stack([left, up], axis=-1)[~behind] / (1.0 + out[~behind])[:, None]
        circle = shapely.minimum_bounding_circle(shapely.MultiPoint(flat)).centroid
        toward = steady.times([2 * circle.x, 2 * circle.y, 1.0 - circle.x**2 - circle.y**2], basis)
        basis = sky_basis(*vector_to_sky(toward), 0.0)
    if steady.dot(vectors, basis[2]).min() < steady.cos(math.radians(WIDEST_DEG)):
        few = vectors[:: 1 + len(vectors) // 1000]
        apart_deg = math.degrees(float(separation_rad(few[:, None], few).max()))
        raise InputError(
            f"the region's parts reach {apart_deg:.0f} degrees across the sky, more than one plane can hold (all "
            f"must lie within {WIDEST_DEG:.0f} degrees of their middle); plan parts so far apart one by one"
        )
    return basis


def centred(basis: NDArray[np.float64], xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the plane that touches the sky in the middle of the smallest circle about points of a plane."""
    middle = shapely.minimum_bounding_circle(shapely.MultiPoint(xy)).centroid
    return sky_basis(*vector_to_sky(plane_to_vector([middle.x, middle.y], basis)), 0.0)


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


def following_in_rings(ring: NDArray[np.intp]) -> NDArray[np.intp]:
    """Numbers of the corners that follow corners in closed rings; `ring` tells, in order, the ring of each."""
    following = np.arange(1, len(ring) + 1)
    last = np.flatnonzero(np.append(ring[1:] != ring[:-1], True))
    following[last] = np.append(0, last[:-1] + 1)
    return following

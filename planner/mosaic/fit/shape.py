"""What must lie in one field: the corners that can touch its sides."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky
from planner.mosaic.rings import centred

__all__ = ["Shape"]

Vectors = NDArray[np.float64]
WIDEST_DEG = 60.0
"""Corners lie at most so far from their middle: beyond, a tangent plane stretches them to nonsense."""
ROUNDS = 3


@dataclass(frozen=True, eq=False)
class Shape:
    """Corners of the convex hull, on the sphere, of all that must lie in one field.

    A field is the inside of four great circles: it holds a set if and only if it holds the hull's corners.

    Parameters
    ----------
    corners : ndarray, shape (N, 3)
        Unit vectors.

    Raises
    ------
    InputError
        If there is no corner or they lie too far apart.
    """

    corners: Vectors

    def __post_init__(self) -> None:
        if not len(self.corners):
            raise InputError("there is nothing to fit into the field; name at least one part")

    @classmethod
    def around(cls, rings: Iterable[ArrayLike]) -> Shape:
        """Return the shape of rings (or loose points) of unit vectors, each of shape (N, 3).

        >>> from planner.geometry import sky_to_vector
        >>> len(Shape.around([sky_to_vector([0, 1, 1, 0, 0.5], [0, 0, 1, 1, 0.5])]).corners)
        4
        """
        vectors = np.concatenate([np.asarray(ring, dtype=float).reshape(-1, 3) for ring in rings])
        plain = cls(vectors)
        if len(vectors) < 3:
            return plain
        hull = shapely.convex_hull(shapely.MultiPoint(vector_to_plane(vectors, plain.basis)))
        corners = np.asarray(hull.exterior.coords if hull.geom_type == "Polygon" else hull.coords)
        last = len(corners) - 1 if hull.geom_type == "Polygon" else len(corners)
        return cls(plane_to_vector(corners[:last], plain.basis))

    @classmethod
    def known(cls, corners: Vectors, basis: Vectors, radius_rad: float) -> Shape:
        """Return a shape whose `basis` and `radius_rad` are known, so that nothing works them out again."""
        shape = cls(corners)
        vars(shape).update(basis=basis, radius_rad=radius_rad)
        return shape

    @cached_property
    def basis(self) -> Vectors:
        """Basis (left, up, out) at the middle of the smallest circle about the corners, position angle 0."""
        mean = self.corners.mean(axis=0)
        self._check_reach(mean)
        basis = sky_basis(*vector_to_sky(mean), 0.0)
        for _ in range(ROUNDS):
            basis = centred(basis, vector_to_plane(self.corners, basis))
        self._check_reach(basis[2])
        return basis

    def _check_reach(self, middle: Vectors) -> None:
        length = float(np.linalg.norm(middle))
        least = float((self.corners @ middle).min()) / max(length, 1e-12)
        if length < 1e-3 or least < math.cos(math.radians(WIDEST_DEG)):
            reach = math.degrees(math.acos(max(-1.0, min(1.0, least))))
            raise InputError(
                f"the parts lie too far apart for one field: they reach {reach:.0f} degrees from their middle, "
                f"at most {WIDEST_DEG:g} will do; leave out the farthest"
            )

    @cached_property
    def local(self) -> Vectors:
        """Corners in the system whose equator and zero meridian cross at the middle, shape (N, 3).

        Rows of its rotation: towards the middle, east, north there. Nothing in it is near a pole.
        """
        return np.asarray(self.corners @ self.rotation.T)

    @property
    def rotation(self) -> Vectors:
        """Matrix that takes ICRS vectors into the local system."""
        left, up, out = self.basis
        return np.stack([out, left, up])

    @cached_property
    def radius_rad(self) -> float:
        """Largest distance of a corner from the middle, radians."""
        return float(np.arccos(np.clip((self.corners @ self.basis[2]).min(), -1.0, 1.0)))

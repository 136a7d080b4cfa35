"""The ground of a search: points to be served, and from where a panel of one orientation serves each of them.

`FlatGround` holds a rectangle of chart places for every point: exact where meridians are parallel, close to it
where they hardly converge, and fast. `CurvedGround` looks at every panel in its own tangent plane.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.demand import Demand
from planner.mosaic.open_ground import OpenGround
from planner.mosaic.orientation import Orientation
from planner.mosaic.region import Region

__all__ = ["Ground"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]
Whole = NDArray[np.int64]
LEAST_SQUEEZE = 2e-4
"""Points that are unserved in truth come back at least this part of a panel's short half side tighter."""


class Ground(ABC):
    """Points and panels of one orientation over a region.

    Places are pairs of numbers, their meaning the ground's own.

    Parameters
    ----------
    region : Region
    orientation : Orientation
    demands : sequence of Demand
    open : OpenGround, optional
        Only points of that count, for each demand its own; left out, all of them.
    """

    cost = 1
    """What a move costs, in moves on flat ground."""

    def __init__(
        self,
        region: Region,
        orientation: Orientation,
        demands: Sequence[Demand],
        open: OpenGround | None = None,
    ) -> None:
        self.region, self.orientation, self.demands, self.open = region, orientation, tuple(demands), open
        self.size = min(min(demand.half_size) for demand in demands)
        self._begin()

    @abstractmethod
    def _begin(self) -> None:
        """Begin without points."""

    def asked(self, points: Array, demand: Demand) -> Array:
        """Those of some points, unit vectors (P, 3), that are to be served for a demand."""
        return points if self.open is None else points[self.open.asks(demand, points)]

    @abstractmethod
    def __len__(self) -> int:
        """Return the number of things to be served: points times demands."""

    @abstractmethod
    def add(self, points: Array, *, against: Array | None = None) -> None:
        """Add points (P, 3) to be served, for every demand.

        Points that places `against`, shape (N, 2), seem to serve but do not in truth become tighter.
        """

    @abstractmethod
    def vectors(self, places: Array) -> Array:
        """Unit vectors (N, 3) of places (N, 2); inverse of `places`."""

    @abstractmethod
    def places(self, vectors: Array) -> Array:
        """Places (N, 2) of unit vectors (N, 3); inverse of `vectors`."""

    @property
    @abstractmethod
    def spots(self) -> Array:
        """Where points lie, shape (P, 2), in some plane."""

    @abstractmethod
    def served(self, places: Array) -> Flags:
        """Whether panels at places (N, 2) serve the points, shape (N, P)."""

    @abstractmethod
    def near(self, point: int) -> Indices:
        """Points that some panel can serve together with a point."""

    @abstractmethod
    def best_places(
        self, point: int, others: Indices, weights: Whole, groups: Indices, count: int
    ) -> tuple[Array, Array]:
        """Places that serve a point and, of a group of others, as much weight as possible, for every group.

        Parameters
        ----------
        point : int
        others : indices, shape (Q,)
            The point itself among them.
        weights : ndarray of int, shape (Q,)
        groups : ndarray of int, shape (Q,)
            From 0 up to the count; -1 for what belongs to every group.
        count : int
            Of groups.

        Returns
        -------
        ndarray, shape (count,)
            The weight: a whole number.
        ndarray, shape (count, 2)
        """

    @abstractmethod
    def settled(self, place: Array, points: Indices) -> Array:
        """Middle of the places that serve all that a place serves of some points."""

    def bases(self, places: Array) -> Array:
        """Panel bases (N, 3, 3) at places (N, 2)."""
        return self.orientation.bases(self.vectors(places))

"""Curved ground: every panel is looked at in its own tangent plane, so it serves near poles and for wide fields.

A place is where the panel's centre stands in the region's tangent plane. A panel serves a point if the point keeps
a distance from each of the panel's sides: that of the reach of its box, cut with the region, towards the side.
Far from the rim that is the box's own half size. At the rim it depends on how the panel is turned at the point, so
it is worked out for a row of turns and interpolated.
"""

from __future__ import annotations

import math
import random

import numpy as np
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, steady, vector_to_plane
from planner.mosaic.orientation import Orientation
from planner.mosaic.poles import greatest_turn, rim_latitude
from planner.mosaic.region import Region

from .curved_points import NOWHERE, Layer
from .ground import LEAST_SQUEEZE, Flags, Ground, Indices, Whole

__all__ = ["CurvedGround"]

Array = NDArray[np.float64]
TURN_STEP = 0.15
"""Radians between the turns for which the reach is worked out."""
SETTLINGS = 4
"""Times at most that a panel is moved to where points keep like distances from its sides."""
HAIR = 1e-12
MOST_ROWS = 2000
"""Of so many places it is kept what they serve."""
TRIES = 9
"""Places are tried on a grid of so many by so many for every point."""


class CurvedGround(Ground):
    """See the module's text.

    Parameters
    ----------
    region : Region
    orientation : Orientation
    demands : sequence of Demand
    """

    cost = 6

    def _begin(self) -> None:
        self.far = max(steady.arctan(steady.hypot(*demand.half_size)) for demand in self.demands)
        turns = _turns(_turn_at_rim(self.region, self.orientation, self.far))
        self.layers = [Layer(self.region, self.orientation, demand, turns) for demand in self.demands]
        self.random = random.Random(0)
        self._rows: dict[bytes, Flags] = {}
        self.points = np.zeros((0, 3))
        self.layer = np.zeros(0, dtype=np.intp)  # of each point
        self.index = np.zeros(0, dtype=np.intp)  # of each point in its layer

    def __len__(self) -> int:
        return len(self.points)

    def add(self, points: Array, *, against: Array | None = None) -> None:
        """See `Ground.add`: points get a greater reach until none of the places serves them."""
        bases = None if against is None or not len(against) else self.bases(against)
        for number, (layer, demand) in enumerate(zip(self.layers, self.demands, strict=True)):
            asked = self.asked(points, demand)
            self.index = np.concatenate([self.index, len(layer) + np.arange(len(asked))])
            self.layer = np.concatenate([self.layer, np.full(len(asked), number)])
            self.points = np.concatenate([self.points, asked])
            layer.add(asked, bases, self.size * LEAST_SQUEEZE)

    def vectors(self, places: Array) -> Array:
        """See `Ground.vectors`."""
        return plane_to_vector(places, self.region.basis)

    def places(self, vectors: Array) -> Array:
        """See `Ground.places`."""
        return vector_to_plane(vectors, self.region.basis)

    @property
    def spots(self) -> Array:
        """See `Ground.spots`: in the region's tangent plane."""
        return vector_to_plane(self.points, self.region.basis)

    def served(self, places: Array) -> Flags:
        """See `Ground.served`. What a place serves is kept: panels are asked for it time and again."""
        keys = [place.tobytes() for place in np.ascontiguousarray(places)]
        if len(self._rows) > MOST_ROWS:
            self._rows = {key: self._rows[key] for key in keys if key in self._rows}
        late = [k for k, key in enumerate(keys) if len(self._rows.get(key, ())) < len(self)]
        for k, basis in zip(late, self.bases(places[late]) if late else (), strict=True):
            known = self._rows.get(keys[k], np.zeros(0, dtype=bool))
            self._rows[keys[k]] = np.concatenate([known, self._served_from(basis, len(known))])
        return np.array([self._rows[key] for key in keys], dtype=bool).reshape(len(places), len(self))

    def _served_from(self, basis: Array, start: int) -> Flags:
        """Whether a panel serves the points from some number on."""
        found = np.zeros(len(self) - start, dtype=bool)
        closest = steady.cos(min(math.pi, self.far))
        near = np.flatnonzero(steady.dot(self.points[start:], basis[2]) >= closest - HAIR)
        found[near] = self._room(basis[None], start + near)[0] >= 0.0
        return found

    def near(self, point: int) -> Indices:
        """See `Ground.near`: points within the diagonal of a panel."""
        return np.flatnonzero(
            steady.dot(self.points, self.points[point]) > steady.cos(min(math.pi, 2 * self.far))
        )

    def best_places(
        self, point: int, others: Indices, weights: Whole, groups: Indices, count: int
    ) -> tuple[Array, Array]:
        """See `Ground.best_places`: the best of a grid of places, which is laid anew each time."""
        places = self._tries(point)
        belongs = (groups[:, None] == np.arange(count)) | (groups < 0)[:, None]
        served = (self._room(self.bases(places), others) >= 0.0).astype(float)
        sums = np.einsum("nq,qg->ng", served, (belongs * weights[:, None]).astype(float))  # in one thread
        best = sums.argmax(axis=0)
        return sums[best, np.arange(count)], places[best]

    def settled(self, place: Array, points: Indices) -> Array:
        """See `Ground.settled`: the panel moves until the points keep like distances from opposite sides."""
        points = points[self._room(self.bases(place[None]), points)[0] >= 0.0]
        best, most = place, NOWHERE
        for _ in range(SETTLINGS):
            basis = self.bases(place[None])
            room = float(self._room(basis, points).min())
            if room <= most:
                break
            best, most = place, room
            place = self.places(plane_to_vector(self._shift(basis, points), basis))[0]
        return best

    def _shift(self, basis: Array, points: Indices) -> Array:
        """Where, in a panel's tangent plane, its centre would stand evenly between points."""
        sides = [self.layers[k].sides(basis, self.index[mine]) for k, mine in self._split(points)]
        left, right, up, down = np.min(sides, axis=0)
        return np.array([[right - left, down - up]]) / 2

    def _tries(self, point: int) -> Array:
        """Places that show a point on a grid of the panel's tangent plane and serve it."""
        half = np.max([demand.half_size for demand in self.demands], axis=0)
        cells = (np.arange(TRIES) + self.random.random()) / TRIES * 2 - 1
        xy = np.stack(np.meshgrid(cells * half[0], cells * half[1]), axis=-1).reshape(-1, 2)
        places = self._showing(self.points[point], xy)
        served = self._room(self.bases(places), np.array([point]))[:, 0] >= 0.0
        return places[served] if served.any() else places

    def _showing(self, vector: Array, xy: Array) -> Array:
        """Places from which a point is seen at tangent plane coordinates, by iteration on the sphere."""
        basis = self.orientation.bases(vector)
        centers = plane_to_vector(-xy, basis)
        for _ in range(3):
            bases = self.orientation.bases(centers)
            off = vector_to_plane(vector, bases) - xy
            centers = plane_to_vector(np.clip(off, -0.5, 0.5), bases)
        return self.places(centers)

    def _room(self, bases: Array, points: Indices) -> Array:
        """How far inside panels points lie, less their reach, shape (N, Q); negative where not served."""
        if len(self.layers) == 1:
            return self.layers[0].room(bases, points)
        room = np.empty((len(bases), len(points)))
        for number, mine in self._split(points):
            where = self.layer[points] == number
            room[:, where] = self.layers[number].room(bases, self.index[mine])
        return room

    def _split(self, points: Indices) -> list[tuple[int, Indices]]:
        """Numbers of the layers with their parts of the points."""
        return [(number, points[self.layer[points] == number]) for number in range(len(self.layers))]


def _turn_at_rim(region: Region, orientation: Orientation, far: float) -> float:
    """How much panels can be turned, at a point of the region's rim, against a panel there; pi near a pole."""
    steepest = rim_latitude(region, orientation)
    if steepest + 1.5 * far >= math.pi / 2:
        return math.pi
    return float(greatest_turn(np.array(steepest), far))


def _turns(most: float) -> Array:
    """Turns against the point's own basis at which reaches are worked out."""
    steps = max(1, math.ceil(most / TURN_STEP))
    return np.linspace(-most, most, 2 * steps + 1)

"""Points of one demand on curved ground, and how far inside panels they lie."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import steady, vector_to_plane
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.poles import greatest_turn
from planner.mosaic.region import Region

from .box_reach import SIDES, turned_reach

__all__ = ["NOWHERE", "Layer", "simplified"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
LOWEST_DEPTH = 0.05
"""Points less than this times the unit sphere in front of a panel are not served by it."""
NOWHERE = -9.0
"""Room of points that are not in front of a panel."""
SIMPLE_WITHIN = 3e-4
"""Shapes may lose this part of their short half side to have fewer corners."""
MOST_SQUEEZE = 0.4
"""Points never get more additional reach than this part of the short half side."""


class Layer:
    """Points, with the reach of their boxes at several turns of a panel.

    Parameters
    ----------
    region : Region
    orientation : Orientation
    demand : Demand
    turns : ndarray, shape (B,)
        Radians, evenly spaced; a single 0 where panels hardly turn against each other.
    """

    def __init__(self, region: Region, orientation: Orientation, demand: Demand, turns: Array) -> None:
        self.region, self.orientation, self.turns = region, orientation, turns
        self.demand = simplified(demand)
        self.normals, self.distances = self.demand.half_planes
        self.points, self.bases = np.zeros((0, 3)), np.zeros((0, 3, 3))
        self.reach = np.zeros((len(turns), 0, len(self.normals)))
        self.is_cut = np.zeros(0, dtype=bool)
        self.more = np.zeros(0)

    def __len__(self) -> int:
        return len(self.points)

    def add(self, points: Array, against: Array | None, least: float) -> None:
        """Add points (P, 3); none of the panels with bases `against`, shape (N, 3, 3), serves them."""
        old = len(self)
        bases = self.orientation.bases(points)
        near = self._near_rim(points)
        whole = steady.dot(np.abs(self.normals), self.demand.box)
        reach = np.tile(whole, (len(self.turns), len(points), 1))
        most = self._most_turns(points)
        for number, turn in enumerate(self.turns):
            met = near & (np.abs(turn) <= most)  # other turns never occur at a point
            found, _ = turned_reach(self.region, bases[met], self.demand.box, self.normals, turn)
            reach[number][met] = found
        self.points = np.concatenate([self.points, points])
        self.bases = np.concatenate([self.bases, bases])
        self.reach = np.concatenate([self.reach, reach], axis=1)
        self.is_cut = np.concatenate([self.is_cut, near])
        self.more = np.concatenate([self.more, np.zeros(len(points))])
        if against is not None:
            room = self.room(against, np.arange(old, len(self))).max(axis=0)
            limit = MOST_SQUEEZE * min(self.demand.half_size)
            self.more[old:] = np.where(room >= 0, np.minimum(1.05 * room + least, limit), 0.0)

    def _near_rim(self, points: Array) -> NDArray[np.bool_]:
        """Whether the region's rim may cut the box of points in some turn."""
        away = shapely.distance(self.region.polygon.boundary, shapely.points(self._flat(points)))
        stretch = 1.0 + steady.tan(self.region.radius_rad) ** 2
        return np.asarray(away < 1.1 * stretch * steady.hypot(*self.demand.box))

    def _most_turns(self, points: Array) -> Array:
        """How far panels that see points can be turned there against the points' own bases, and one step."""
        if len(self.turns) == 1:
            return np.full(len(points), np.inf)
        far = steady.arctan(steady.hypot(*self.demand.half_size))
        latitude = np.abs(steady.arcsin(np.clip(steady.dot(points, self.orientation.rotation[2]), -1.0, 1.0)))
        steep = latitude + 1.1 * far >= math.pi / 2
        found = greatest_turn(np.where(steep, 0.0, latitude), far)
        return np.asarray(np.where(steep, np.inf, found + self.turns[1] - self.turns[0]))

    def _flat(self, points: Array) -> Array:
        return vector_to_plane(points, self.region.basis)

    def room(self, bases: Array, points: Indices) -> Array:
        """How far inside panels, less their reach, points lie: shape (N, Q), negative where not served.

        Most pairs are told apart by the panel's sides alone; only the others are looked at closely.
        """
        parts = steady.times(bases, self.points[points].T)
        depth = np.maximum(parts[:, 2], LOWEST_DEPTH)
        x, y = parts[:, 0] / depth, parts[:, 1] / depth
        a, b = self.demand.half_size
        panel, which = np.nonzero((np.abs(x) <= a) & (np.abs(y) <= b) & (parts[:, 2] > LOWEST_DEPTH))
        point, x, y = points[which], x[panel, which], y[panel, which]
        left = np.full(len(point), np.inf)
        for normal, distance, reach in zip(
            self.normals, self.distances, self._reaches(bases, panel, point), strict=True
        ):
            np.minimum(left, distance - normal[0] * x - normal[1] * y - reach, out=left)
        room = np.full((len(bases), len(points)), NOWHERE)
        room[panel, which] = left - self.more[point]
        return room

    def sides(self, basis: Array, points: Indices) -> Array:
        """Least distance that points keep, with their reach, from a panel's left, right, upper and lower side."""
        if not len(points):
            return np.full(4, np.inf)
        xy = vector_to_plane(self.points[points], basis)
        which = steady.times(SIDES, self.normals.T).argmax(axis=1)
        reach = self._reaches(basis, np.zeros(len(points), dtype=np.intp), points)[which]
        half = np.repeat(self.demand.half_size, 2)
        return np.asarray((half[:, None] - reach - steady.times(SIDES, xy.T)).min(axis=1))

    def _reaches(self, bases: Array, panel: Indices, point: Indices) -> Array:
        """Reach along each normal, (K, M), of points for as many panels, at the turn of each panel at its point."""
        reach: Array = self.reach[0][point]
        if len(self.turns) == 1:
            return reach.T
        cut = np.flatnonzero(self.is_cut[point])
        up, own = bases[panel[cut], 1], self.bases[point[cut], :2]
        turn = steady.arctan2(steady.dot(up, own[:, 0]), steady.dot(up, own[:, 1]))
        place = (turn - self.turns[0]) / (self.turns[1] - self.turns[0])
        # NaN: beyond a pole, serves nothing
        place = np.clip(np.where(np.isnan(place), 0.0, place), 0, len(self.turns) - 1.000001)
        low = place.astype(np.intp)
        share, cut_point = (place - low)[:, None], point[cut]
        before, after = self.reach[low, cut_point], self.reach[low + 1, cut_point]
        reach[cut] = before * (1 - share) + after * share
        return reach.T


def simplified(demand: Demand) -> Demand:
    """Return the demand with a shape of fewer corners inside its own."""
    corners = [np.array(corner) for corner in demand.shape]
    allowed = SIMPLE_WITHIN * min(demand.half_size)
    while len(corners) > 4:
        lost = [_height(corners[i - 1], c, corners[(i + 1) % len(corners)]) for i, c in enumerate(corners)]
        least = int(np.argmin(lost))
        if lost[least] > allowed:
            break
        corners.pop(least)
    return Demand(tuple((float(x), float(y)) for x, y in corners), demand.box)


def _height(first: Array, corner: Array, last: Array) -> float:
    """Distance of a corner from the line between its neighbours."""
    along, there = last - first, corner - first
    return float(abs(along[0] * there[1] - along[1] * there[0]) / steady.hypot(*along))

"""Flat ground: every point has a rectangle of chart places, those with a panel that serves it."""

from __future__ import annotations

import numpy as np

from planner.mosaic.chart import Chart
from planner.mosaic.demand import Demand

from .box_reach import box_reach
from .ground import LEAST_SQUEEZE, Array, Flags, Ground, Indices, Whole

__all__ = ["FlatGround"]

MOST_ENDS = 48
"""Right ends, and top ends, that are tried for one place; more are thinned evenly."""
CLOSE = 1e-3
"""Ends closer than this part of their range count as one."""
UNIT = 2.0**-30
"""Rectangles shrink to whole multiples of this (radians, 0.2 milliarcseconds), in which all reckoning is exact."""
SIGNS = np.array([[[1.0], [-1.0]], [[-1.0], [1.0]]])
"""Of a rectangle's corners in a table of differences: by u, then by v, the least first."""
SHRINK = 0.3
"""They shrink by at least this part of it: values that are whole but for rounding come out the same anywhere."""


class FlatGround(Ground):
    """Every point has a rectangle of chart places, those with a panel that serves it."""

    def _begin(self) -> None:
        self.chart = Chart(self.orientation, self.region.basis[2])
        self.extent = np.zeros((4, 0))
        self._near: dict[int, Indices] = {}

    def __len__(self) -> int:
        return self.extent.shape[1]

    def add(self, points: Array, *, against: Array | None = None) -> None:
        """See `Ground.add`: rectangles shrink until they hold none of the places."""
        asked = [(self.asked(points, demand), demand) for demand in self.demands]
        found = np.concatenate([self._extent(*each) for each in asked if len(each[0])], axis=1)
        if against is not None and len(against):
            found = _squeezed(found, against, self.size * LEAST_SQUEEZE)
        self.extent = np.ascontiguousarray(np.concatenate([self.extent, found], axis=1))
        self._near.clear()

    def vectors(self, places: Array) -> Array:
        """See `Ground.vectors`."""
        return self.chart.vectors(places)

    def places(self, vectors: Array) -> Array:
        """See `Ground.places`."""
        return self.chart.place(vectors)

    @property
    def spots(self) -> Array:
        """See `Ground.spots`: middles of the rectangles."""
        u0, u1, v0, v1 = self.extent
        return np.stack([u0 + u1, v0 + v1], axis=-1) / 2

    def served(self, places: Array) -> Flags:
        """See `Ground.served`."""
        u, v = places[:, :1], places[:, 1:]
        u0, u1, v0, v1 = self.extent
        return (u0 <= u) & (u <= u1) & (v0 <= v) & (v <= v1)

    def near(self, point: int) -> Indices:
        """See `Ground.near`: points whose rectangles meet the point's."""
        if point not in self._near:
            u0, u1, v0, v1 = self.extent
            low_u, high_u, low_v, high_v = self.extent[:, point]
            met = (u0 <= high_u) & (u1 >= low_u) & (v0 <= high_v) & (v1 >= low_v)
            self._near[point] = met.nonzero()[0]
        return self._near[point]

    def best_places(
        self, point: int, others: Indices, weights: Whole, groups: Indices, count: int
    ) -> tuple[Array, Array]:
        """See `Ground.best_places`: on some rectangle's right end and some rectangle's top end.

        Every rectangle adds its weight at its lower left corner in a table of all ends and takes it away beyond its
        upper right one, so that running sums give the weight of each pair of ends. They are whole, hence exact.
        """
        extent = self.extent.take(others, axis=1)
        u, v = _ends(extent[1], self.extent[1, point]), _ends(extent[3], self.extent[3, point])
        rows, columns = len(u) + 1, len(v) + 1
        corners = np.empty((2, 2, len(others)), dtype=np.intp)
        corners[0] = ((groups + 1) * rows + u.searchsorted(extent[0])) * columns
        corners[1] = ((groups + 1) * rows + u.searchsorted(extent[1], "right")) * columns
        corners[:, 0] += v.searchsorted(extent[2])
        corners[:, 1] += v.searchsorted(extent[3], "right")
        table = np.bincount(corners.ravel(), (SIGNS * weights).ravel(), (count + 1) * rows * columns)
        table = table.reshape(count + 1, rows, columns)
        sums = table[1:] + table[0]
        np.add.accumulate(sums, axis=1, out=sums)
        np.add.accumulate(sums, axis=2, out=sums)
        sums = sums.reshape(count, -1)
        best = sums.argmax(axis=1)
        row, column = np.divmod(best, columns)
        places = np.empty((count, 2))
        places[:, 0], places[:, 1] = u[row], v[column]
        return sums[np.arange(count), best], places

    def settled(self, place: Array, points: Indices) -> Array:
        """See `Ground.settled`."""
        u0, u1, v0, v1 = extent = self.extent.take(points, axis=1)
        u, v = place.tolist()
        kept = (u0 <= u) & (u <= u1) & (v0 <= v) & (v <= v1)
        u0, u1, v0, v1 = extent.compress(kept, axis=1)
        return np.array([u0.max() + u1.min(), v0.max() + v1.min()]) / 2

    def _extent(self, points: Array, demand: Demand) -> Array:
        """Rectangles (4, P): least and greatest u, least and greatest v."""
        half = np.minimum(demand.half_size, np.array(demand.core) + demand.box)
        reach = box_reach(self.region, self.orientation, demand.box, points)
        low, high = -half + reach[:, (1, 3)], half - reach[:, (0, 2)]
        middle = (low + high) / 2
        pairs = ((high, middle), (low, middle), (middle, high), (middle, low))
        sides = np.stack([np.stack([x[:, 0], y[:, 1]], axis=-1) for x, y in pairs])
        uv = self.chart.places_showing(points, sides)
        return _shrunk(np.stack([uv[0, :, 0], uv[1, :, 0], uv[2, :, 1], uv[3, :, 1]]))


def _shrunk(extent: Array) -> Array:
    """Rectangles (4, P) made smaller to whole multiples of `UNIT`."""
    low, high = extent[::2] / UNIT + SHRINK, extent[1::2] / UNIT - SHRINK
    found = np.empty_like(extent)
    found[::2], found[1::2] = np.ceil(low), np.floor(high)
    return found * UNIT


def _squeezed(extent: Array, places: Array, more: float) -> Array:
    """Rectangles (4, P) that hold none of the places; they shrink evenly on all sides, but never to nothing."""
    u, v = places[:, :1], places[:, 1:]
    u0, u1, v0, v1 = extent
    room = np.min([u - u0, u1 - u, v - v0, v1 - v], axis=0).max(axis=0)
    by = np.where(room >= 0, 1.05 * room + more, 0.0)
    by = np.minimum(by, 0.45 * np.minimum(u1 - u0, v1 - v0))
    return _shrunk(extent + by * np.array([[1.0], [-1.0], [1.0], [-1.0]]))


def _ends(values: Array, high: float) -> Array:
    """Different values up to a greatest one, which is among them, the least of near ones, at most `MOST_ENDS`."""
    found = values[values <= high]
    found.sort()
    apart = np.empty(len(found), dtype=bool)
    apart[0] = True
    np.greater(found[1:] - found[:-1], (high - found[0]) * CLOSE, out=apart[1:])
    found = found[apart]
    if len(found) > MOST_ENDS:
        found = found[np.arange(MOST_ENDS) * (len(found) - 1) // (MOST_ENDS - 1)]
    return found

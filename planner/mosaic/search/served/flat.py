"""Flat ground: every point has a rectangle of chart places, those with a panel that serves it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.mosaic.chart import Chart
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.region import Region

from .box_reach import box_reach
from .ground import LEAST_SQUEEZE, Array, Flags, Ground, Indices

__all__ = ["FlatGround"]

MOST_ENDS = 48
"""Right ends, and top ends, that are tried for one place; more are thinned evenly."""
CLOSE = 1e-3
"""Ends closer than this part of their range count as one."""
MOST_PRODUCTS = 200_000
"""Multiplications that are done at once: small enough to stay in one thread."""


class FlatGround(Ground):
    """Every point has a rectangle of chart places, those with a panel that serves it."""

    def __init__(self, region: Region, orientation: Orientation, demands: Sequence[Demand]) -> None:
        super().__init__(region, orientation, demands)
        self.chart = Chart(orientation, region.basis[2])
        self.extent = np.zeros((4, 0))

    def __len__(self) -> int:
        return self.extent.shape[1]

    def add(self, points: Array, *, against: Array | None = None) -> None:
        """See `Ground.add`: rectangles shrink until they hold none of the places."""
        found = np.concatenate([self._extent(points, demand) for demand in self.demands], axis=1)
        if against is not None and len(against):
            found = _squeezed(found, against, self.size * LEAST_SQUEEZE)
        self.extent = np.ascontiguousarray(np.concatenate([self.extent, found], axis=1))

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
        u0, u1, v0, v1 = self.extent
        low_u, high_u, low_v, high_v = self.extent[:, point]
        return np.flatnonzero((u0 <= high_u) & (u1 >= low_u) & (v0 <= high_v) & (v1 >= low_v))

    def best_places(
        self, point: int, others: Indices, weights: Array, common: int, groups: Sequence[Indices]
    ) -> list[tuple[float, Array]]:
        """See `Ground.best_places`: on some rectangle's right end and some rectangle's top end."""
        u0, u1, v0, v1 = self.extent[:, others]
        low_u, high_u, low_v, high_v = self.extent[:, point]
        u, v = _ends(u1, low_u, high_u)[:, None], _ends(v1, low_v, high_v)[:, None]
        across = ((u0 <= u) & (u <= u1)) * weights
        upward = ((v0 <= v) & (v <= v1)).astype(float)
        base = _product(across[:, :common], upward[:, :common])
        found = []
        for group in groups:
            weight = base + _product(across[:, group], upward[:, group])
            row, column = divmod(int(weight.argmax()), len(v))
            found.append((float(weight[row, column]), np.array([u[row, 0], v[column, 0]])))
        return found

    def settled(self, place: Array, points: Indices) -> Array:
        """See `Ground.settled`."""
        u0, u1, v0, v1 = self.extent[:, points]
        kept = (u0 <= place[0]) & (place[0] <= u1) & (v0 <= place[1]) & (place[1] <= v1)
        return np.array([u0[kept].max() + u1[kept].min(), v0[kept].max() + v1[kept].min()]) / 2

    def _extent(self, points: Array, demand: Demand) -> Array:
        """Rectangles (4, P): least and greatest u, least and greatest v."""
        half = np.minimum(demand.half_size, np.array(demand.core) + demand.box)
        reach = box_reach(self.region, self.orientation, demand.box, points)
        low, high = -half + reach[:, (1, 3)], half - reach[:, (0, 2)]
        middle = (low + high) / 2
        pairs = ((high, middle), (low, middle), (middle, high), (middle, low))
        sides = np.stack([np.stack([x[:, 0], y[:, 1]], axis=-1) for x, y in pairs])
        uv = self.chart.places_showing(points, sides)
        return np.stack([uv[0, :, 0], uv[1, :, 0], uv[2, :, 1], uv[3, :, 1]])


def _product(first: Array, second: Array) -> Array:
    """Matrix product with a transposed one, in parts so small that no threads are woken for it."""
    step = max(1, MOST_PRODUCTS // (len(first) * len(second)))
    found = first[:, :step] @ second[:, :step].T
    for start in range(step, first.shape[1], step):
        found += first[:, start : start + step] @ second[:, start : start + step].T
    return np.asarray(found)


def _squeezed(extent: Array, places: Array, more: float) -> Array:
    """Rectangles (4, P) that hold none of the places; they shrink evenly on all sides, but never to nothing."""
    u, v = places[:, :1], places[:, 1:]
    u0, u1, v0, v1 = extent
    room = np.min([u - u0, u1 - u, v - v0, v1 - v], axis=0).max(axis=0)
    by = np.where(room >= 0, 1.05 * room + more, 0.0)
    by = np.minimum(by, 0.45 * np.minimum(u1 - u0, v1 - v0))
    return np.asarray(extent + by * np.array([[1.0], [-1.0], [1.0], [-1.0]]))


def _ends(values: Array, low: float, high: float) -> Array:
    """Different values in a range, the least of near ones, at most `MOST_ENDS`; the middle if there are none."""
    found = np.unique(values[(values >= low) & (values <= high)])
    if len(found) < 2:
        return found if len(found) else np.array([(low + high) / 2])
    found = found[np.append(True, np.diff(found) > (high - low) * CLOSE)]
    if len(found) > MOST_ENDS:
        found = found[np.linspace(0, len(found) - 1, MOST_ENDS).astype(int)]
    return np.asarray(found)

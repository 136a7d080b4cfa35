"""How many panels sliding rows need at every camera angle, all angles and phases at once.

The region's outline is turned into the panels' chart for each angle. A row is a strip as high as a panel. It must
show what rises above the strip of the row below, and the boxes around that. What a strip cuts off each edge of the
outline has a shadow on the row; between shadows the region either fills the strip or leaves it empty, which the
edges crossed so far tell. Panels are marched along what is not empty. Scale and convergence are those of the
region's middle: counts are guides, and the plans made from them are proven.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.geometry import plane_to_vector
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.region import Region

from .chart import Chart

__all__ = ["count_rows", "lay_rows"]

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
MANY_CORNERS = 40
LONGEST = 10.0
"""Edges are divided to pieces of at most so many short half sides, so that they follow great circles."""
SIMPLE_WITHIN = 0.004
"""The outline may be simplified by this part of a panel's short half side; it grows by as much first."""
ROUNDING = 1e-9
EASE = 0.01
"""Rows are moved by at most this part of a panel's half height."""
MOST_CELLS = 400_000
"""Strips times edges that are looked at together."""


def count_rows(
    region: Region,
    orientation: Orientation,
    demands: Sequence[Demand],
    angles_deg: ArrayLike,
    *,
    phases: int = 8,
) -> Counts:
    """Panels in sliding rows at camera angles, the best of several row phases each.

    Parameters
    ----------
    region : Region
    orientation : Orientation
        Of panels at angle 0; angles turn them from their up towards their left.
    demands : sequence of Demand
    angles_deg : array_like, shape (A,)
    phases : int
        Shifts of the rows across their direction.

    Returns
    -------
    ndarray of int, shape (A,)
    """
    angles = np.radians(np.asarray(angles_deg, dtype=float))
    rings = _turned_outline(region, orientation, demands, angles)
    strips = _Strips(rings, _half(demands), _core(demands), phases)
    return np.asarray(strips.counts.min(axis=1))


def lay_rows(
    region: Region, orientation: Orientation, demands: Sequence[Demand], *, phases: int = 8
) -> Array:
    """Centres of panels in sliding rows at one orientation, unit vectors (N, 3).

    They are evenly spaced along each piece of a row. Only a proof can tell whether they meet the demands.

    Parameters
    ----------
    region, orientation, demands, phases : see `count_rows`
    """
    level = orientation.turned_to(0.0)
    rings = _turned_outline(region, level, demands, np.radians([orientation.angle_deg]))
    strips = _Strips(rings, _half(demands), _core(demands), phases)
    pieces = strips.pieces(int(strips.counts[0].argmin()))
    places = [(u, v) for v, start, end, count in pieces for u in strips.spread(start, end, count)]
    return Chart(orientation, region.frame[2]).vectors(np.array(places))


def _half(demands: Sequence[Demand]) -> Array:
    return np.asarray(np.min([demand.half_size for demand in demands], axis=0))


def _core(demands: Sequence[Demand]) -> Array:
    return np.asarray(np.min([demand.core for demand in demands], axis=0))


def _turned_outline(
    region: Region, orientation: Orientation, demands: Sequence[Demand], angles: Array
) -> Array:
    """Corners (A, E, 2) of the outline in the charts of all angles."""
    size = float(_half(demands).min())
    within = SIMPLE_WITHIN * size
    outline = region.polygon
    if len(outline.exterior.coords) > MANY_CORNERS:
        outline = outline.buffer(within, quad_segs=1, join_style="mitre").simplify(within)
    ring = np.asarray(shapely.segmentize(outline.exterior, LONGEST * size).coords)[:-1]
    uv = Chart(orientation, region.frame[2]).place(plane_to_vector(ring, region.frame))
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    return np.stack([cos * uv[:, 0] - sin * uv[:, 1], sin * uv[:, 0] + cos * uv[:, 1]], axis=-1)


class _Strips:
    """Rows at many angles and phases, and the pieces of region along each.

    Parameters
    ----------
    rings : ndarray, shape (A, E, 2)
    half, core : ndarray, shape (2,)
        Half sizes of panels and of their cores.
    phases : int
    """

    def __init__(self, rings: Array, half: Array, core: Array, phases: int) -> None:
        self.rings, self.half, self.core, self.box = rings, half, core, half - core
        low, high = rings[..., 1].min(axis=1), rings[..., 1].max(axis=1)
        pitch = 2 * core[1]
        most = int(np.ceil((high - low - 2 * half[1]).max() / pitch - ROUNDING)) + 2
        rows, shift = np.arange(max(1, most)), np.arange(phases) / phases * pitch
        self.bottom = (low[:, None, None] - shift[:, None] + pitch * rows).reshape(len(rings), -1)
        self.is_first = np.tile(rows == 0, phases)
        step = max(1, MOST_CELLS // (self.bottom.shape[1] * rings.shape[1]))
        parts = [slice(k, k + step) for k in range(0, len(rings), step)]
        per_row = np.concatenate([self._panels(part) for part in parts])
        self.counts = per_row.reshape(len(rings), phases, -1).sum(axis=2)

    def pieces(self, phase: int) -> list[tuple[float, float, float, int]]:
        """At the first angle: middle of the row, start, end and panels of every piece of region along a row."""
        rows = self.bottom.shape[1] // self.counts.shape[1]
        one = slice(phase * rows, (phase + 1) * rows)
        left, right, crosses = (part[0, one] for part in self._shadows(slice(0, 1)))
        middles = self._eased(self.bottom[0, one], np.asarray(np.isfinite(left).any(axis=-1))) + self.half[1]
        found = []
        for row, middle in enumerate(middles.tolist()):
            shown = -np.inf
            for start, end in _pieces(left[row], right[row], crosses[row], float(self.box[0])):
                begin = max(start, shown - 2 * self.box[0])
                if end > shown + ROUNDING:
                    room = end - begin - 2 * self.box[0]
                    need = max(1, int(np.ceil(room / (2 * self.core[0]) - ROUNDING)))
                    found.append((middle, begin, end, need))
                    shown = max(end, begin + 2 * self.half[0])
        return found

    def _eased(self, bottom: Array, used: NDArray[np.bool_]) -> Array:
        """Bottoms of rows, moved a little so that what they reach too far is shared by all seams and both rims."""
        first, last = np.flatnonzero(used)[[0, -1]]
        low, high = self.rings[0, :, 1].min(), self.rings[0, :, 1].max()
        spare = bottom[last] + 2 * self.half[1] - bottom[first] - (high - low)
        share = min(spare / (last - first + 2), EASE * self.half[1])
        if bottom[last] + 2 * self.half[1] - high < share or low - bottom[first] > share:
            return bottom
        return np.asarray(bottom - share * (1 + np.arange(len(bottom)) - first))

    def spread(self, start: float, end: float, count: int) -> list[float]:
        """Centres of panels over a piece of a row, what they reach too far shared by all seams and both ends."""
        spare = 2 * self.half[0] + (count - 1) * 2 * self.core[0] - (end - start)
        step = 2 * self.core[0] - spare / (count + 1)
        first = start + self.half[0] - spare / (count + 1)
        return [float(first + k * step) for k in range(count)]

    def _panels(self, part: slice) -> Counts:
        """Panels of each row of some angles, shape (A, S)."""
        left, right, crosses = self._shadows(part)
        if not _is_convex(self.rings[0]):
            return _marched(left, right, crosses, self.half[0], self.box[0])
        start, end = left.min(axis=-1), right.max(axis=-1)
        need = np.ceil((end - start - 2 * self.box[0]) / (2 * self.core[0]) - ROUNDING)
        return np.where(end > start, np.maximum(need, 1), 0).astype(np.int64)

    def _shadows(self, part: slice) -> tuple[Array, Array, NDArray[np.bool_]]:
        """Shadows of what rises above the row below, with the boxes around it, and which edges cross a row."""
        rings, low = self.rings[part], self.bottom[part][..., None]
        high = low + 2 * self.half[1]
        band = low + np.where(self.is_first, 0.0, 2 * self.box[1])[:, None]
        left, right = _shadows(rings, band, high)
        strip_left, strip_right = _shadows(rings, low, high)
        left = np.maximum(left - 2 * self.box[0], strip_left.min(axis=-1, keepdims=True))
        right = np.minimum(right + 2 * self.box[0], strip_right.max(axis=-1, keepdims=True))
        return left, right, _crosses(rings, (band + high) / 2)


def _pieces(left: Array, right: Array, crosses: NDArray[np.bool_], box: float) -> list[tuple[float, float]]:
    """Starts and ends of the pieces of region along one row."""
    order = np.argsort(left, kind="stable")
    order = order[np.isfinite(left[order])]
    found: list[tuple[float, float]] = []
    inside = False
    for edge in order.tolist():
        if found and (inside or left[edge] <= found[-1][1] + box):
            found[-1] = (found[-1][0], max(found[-1][1], float(right[edge])))
        else:
            found.append((float(left[edge]), float(right[edge])))
        inside ^= bool(crosses[edge])
    return found


def _shadows(rings: Array, low: Array, high: Array) -> tuple[Array, Array]:
    """Least and greatest u, (A, S, E), of what strips cut off edges; infinite where they cut nothing off."""
    first, second = rings, np.roll(rings, -1, axis=1)
    swap = (first[..., 1] > second[..., 1])[..., None]
    lower, upper = np.where(swap, second, first)[:, None], np.where(swap, first, second)[:, None]
    u0, v0, u1, v1 = lower[..., 0], lower[..., 1], upper[..., 0], upper[..., 1]
    slope = (u1 - u0) / np.maximum(v1 - v0, 1e-300)
    from_v, to_v = np.maximum(low, v0), np.minimum(high, v1)
    level = v1 - v0 < 1e-15
    first_u = np.where(level, u0, u0 + (from_v - v0) * slope)
    second_u = np.where(level, u1, u0 + (to_v - v0) * slope)
    empty = from_v > to_v
    left, right = np.minimum(first_u, second_u), np.maximum(first_u, second_u)
    left[empty], right[empty] = np.inf, -np.inf
    return left, right


def _crosses(rings: Array, middle: Array) -> NDArray[np.bool_]:
    """Whether edges cross the middle of strips, (A, S, E)."""
    v = rings[:, None, :, 1]
    return np.asarray((v < middle) != (np.roll(v, -1, axis=-1) < middle))


def _is_convex(ring: Array) -> bool:
    edge = np.roll(ring, -1, axis=0) - ring
    turn = edge[:, 0] * np.roll(edge[:, 1], -1) - edge[:, 1] * np.roll(edge[:, 0], -1)
    scale = float(np.abs(edge).max()) ** 2
    return bool((turn >= -1e-9 * scale).all() or (turn <= 1e-9 * scale).all())


def _marched(left: Array, right: Array, crosses: NDArray[np.bool_], half: float, box: float) -> Counts:
    """Panels of strips with several pieces of region, (A, S)."""
    order = np.argsort(left, axis=-1)
    left, right = np.take_along_axis(left, order, axis=-1), np.take_along_axis(right, order, axis=-1)
    crosses = np.take_along_axis(crosses, order, axis=-1)
    reached = np.maximum.accumulate(right, axis=-1)
    inside = np.cumsum(crosses, axis=-1) % 2 == 1
    following = np.concatenate([left[..., 1:], np.full_like(left[..., :1], np.inf)], axis=-1)
    ends = (following > reached + box) & ~inside & np.isfinite(left)
    last = np.isfinite(left) & ~np.isfinite(following)
    ends |= last
    count = np.zeros(left.shape[:-1], dtype=np.int64)
    shown, start = np.full(left.shape[:-1], -np.inf), left[..., 0].copy()
    for edge in range(left.shape[-1]):
        at = ends[..., edge]
        if not at.any():
            continue
        stop = reached[..., edge]
        begin = np.maximum(start, shown - 2 * box)
        with np.errstate(invalid="ignore"):
            need = np.maximum(np.ceil((stop - begin - 2 * box) / (2 * half - 2 * box) - ROUNDING), 1)
        need = np.where(at & (stop > shown + ROUNDING), need, 0)
        count += need.astype(np.int64)
        shown = np.where(need > 0, begin + need * (2 * half - 2 * box) + 2 * box, shown)
        start = np.where(at, following[..., edge], start)
    return count

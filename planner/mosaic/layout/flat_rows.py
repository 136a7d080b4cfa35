"""How many panels sliding rows need at every camera angle, all angles and phases at once.

The region's outline is turned into the panels' chart for each angle. A row is a strip as high as a panel. It must
show what rises above the strip of the row below, and the boxes around that. Scale and convergence are those of the
region's middle: counts are guides, and plans made from them are proven. See `curved_rows` for rows that follow the
sphere.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.geometry import distinct, plane_to_vector, steady
from planner.mosaic.chart import Chart
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.region import Region
from planner.mosaic.rings import following_in_rings

from .strips import Outline

__all__ = ["count_rows", "lay_rows"]

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
Index = NDArray[np.intp]
MANY_CORNERS = 40
LONGEST = 10.0
"""Edges are divided to pieces of at most so many short half sides, so that they follow great circles."""
SIMPLE_WITHIN = 0.004
"""The outline may be simplified by this part of a panel's short half side; it grows by as much first."""
ROUNDING = 1e-9
EASE = 0.01
"""Rows are moved by at most this part of a panel's half height."""
MOST_STRIPS = 20_000
"""Strips that are looked at together."""
LEAST_RISE = 1e-12
"""A row that shows less of the region's height needs no panel."""


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
    rings, following = _turned_outline(region, orientation, demands, angles)
    strips = _Strips(rings, following, _half(demands), _core(demands), phases)
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
    rings, following = _turned_outline(region, level, demands, np.radians([orientation.angle_deg]))
    strips = _Strips(rings, following, _half(demands), _core(demands), phases)
    return Chart(orientation, region.basis[2]).vectors(strips.centers(int(strips.counts[0].argmin())))


def _half(demands: Sequence[Demand]) -> Array:
    return np.asarray(np.min([demand.half_size for demand in demands], axis=0))


def _core(demands: Sequence[Demand]) -> Array:
    return np.asarray(np.min([demand.core for demand in demands], axis=0))


def _turned_outline(
    region: Region, orientation: Orientation, demands: Sequence[Demand], angles: Array
) -> tuple[Array, Index]:
    """Corners (A, E, 2) of all rings in the charts of all angles, and the numbers (E,) of those that follow them."""
    size = float(_half(demands).min())
    within = SIMPLE_WITHIN * size
    outline = region.polygon
    if shapely.get_num_coordinates(outline) > MANY_CORNERS:
        outline = outline.buffer(within, quad_segs=1, join_style="mitre").simplify(within)
    rings = shapely.segmentize(shapely.get_rings(shapely.get_parts(outline)), LONGEST * size)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    kept = np.append(ring[1:] == ring[:-1], False)
    uv = Chart(orientation, region.basis[2]).place(plane_to_vector(xy[kept], region.basis))
    cos, sin = (each[:, None] for each in steady.cos_sin(angles))
    turned = np.stack([cos * uv[:, 0] - sin * uv[:, 1], sin * uv[:, 0] + cos * uv[:, 1]], axis=-1)
    return turned, following_in_rings(ring[kept])


class _Strips:
    """Rows at many angles and phases, and the pieces of region along each.

    Parameters
    ----------
    rings : ndarray, shape (A, E, 2)
    following : ndarray of int, shape (E,)
        Which corner follows each.
    half, core : ndarray, shape (2,)
        Half sizes of panels and of their cores.
    phases : int
    """

    def __init__(self, rings: Array, following: Index, half: Array, core: Array, phases: int) -> None:
        self.following = following
        self.rings, self.half, self.core, self.box = rings, half, core, half - core
        low, high = rings[..., 1].min(axis=1), rings[..., 1].max(axis=1)
        pitch = 2 * core[1]
        most = int(np.ceil((high - low - 2 * half[1]).max() / pitch - ROUNDING)) + 2
        rows, shift = np.arange(max(1, most)), np.arange(phases) / phases * pitch
        self.bottom = (low[:, None, None] - shift[:, None] + pitch * rows).reshape(len(rings), -1)
        self.band = self.bottom + np.tile(np.where(rows == 0, 0.0, 2 * self.box[1]), phases)
        """Heights from which on each row must show the region: what rises above the row below."""
        one = following[-1] == 0 and _is_convex(rings[0])
        per_row = self._in_one_piece() if one else self._in_pieces()
        self.counts = np.maximum(per_row.reshape(len(rings), phases, -1).sum(axis=2), 1)

    def _in_one_piece(self) -> Counts:
        """Panels of each row, shape (A, S), over a convex region."""
        chains, top = _Chains(self.rings), self.bottom + 2 * self.half[1]
        strip_start, strip_end = chains.extent(self.bottom, top)
        start, end = chains.extent(self.band, top)
        start, end = (
            np.maximum(start - 2 * self.box[0], strip_start),
            np.minimum(end + 2 * self.box[0], strip_end),
        )
        return np.where(end > start, self._need(start, end), 0)

    def _in_pieces(self) -> Counts:
        """Panels of each row, shape (A, S)."""
        size = self.bottom.size
        panels = np.zeros(size, dtype=np.int64)
        step = max(1, MOST_STRIPS // self.bottom.shape[1])
        for begin in range(0, len(self.rings), step):
            part = slice(begin, begin + step)
            row, _, _, need = self._pieces(self.rings[part], self.bottom[part], self.band[part])
            panels += np.bincount(row + begin * self.bottom.shape[1], need, size).astype(np.int64)
        return panels.reshape(self.bottom.shape)

    def _need(self, start: Array, end: Array) -> Counts:
        room = (end - start - 2 * self.box[0]) / (2 * self.core[0])
        return np.asarray(np.maximum(np.ceil(room - ROUNDING), 1), dtype=np.int64)

    def _pieces(self, rings: Array, bottom: Array, band: Array) -> tuple[Index, Array, Array, Counts]:
        """Row, start, end and panels of every piece of region along rows, by row and then from start to end.

        All angles lie in one plane, one above the other.
        """
        apart = np.arange(len(rings)) * 2 * float(np.ptp(rings[..., 1]) + 2 * self.half[1])
        corners = rings.copy()
        corners[..., 1] += apart[:, None]
        low, band = (bottom + apart[:, None]).ravel(), (band + apart[:, None]).ravel()
        outline = Outline(corners, corners[:, self.following])
        pieces = outline.pieces(band, low + 2 * self.half[1])
        first, last = outline.extents(low, band)
        np.minimum.at(first, pieces.strip, pieces.start)
        np.maximum.at(last, pieces.strip, pieces.end)
        start = np.maximum(pieces.start - 2 * self.box[0], first[pieces.strip])
        end = np.minimum(pieces.end + 2 * self.box[0], last[pieces.strip])
        return self._marched(pieces.strip, start, end)

    def _marched(self, row: Index, start: Array, end: Array) -> tuple[Index, Array, Array, Counts]:
        """Pieces from where the last one's panels leave them, those that these show left out, with their panels."""
        begin, need = start.copy(), np.zeros(len(row), dtype=np.int64)
        number = np.arange(len(row)) - np.searchsorted(row, row)
        shown = np.full(int(row.max(initial=-1)) + 1, -np.inf)
        for k in range(int(number.max(initial=-1)) + 1):
            at = np.flatnonzero(number == k)
            at = at[end[at] > shown[row[at]] + ROUNDING]
            begin[at] = np.maximum(start[at], shown[row[at]] - 2 * self.box[0])
            need[at] = self._need(begin[at], end[at])
            shown[row[at]] = self._packed(begin[at], need[at])
        kept = need > 0
        return row[kept], begin[kept], end[kept], need[kept]

    def _packed(self, start: Array, need: Counts) -> Array:
        """How far panels from a start on show a row, each as far on as it can be."""
        return np.asarray(start + need * 2 * self.core[0] + 2 * self.box[0])

    def centers(self, phase: int) -> Array:
        """Chart places (N, 2) of the panels of a phase at the first angle.

        Evenly over every piece of region, unless the next piece counts on what they reach too far.
        """
        rows = self.bottom.shape[1] // self.counts.shape[1]
        one = slice(phase * rows, (phase + 1) * rows)
        row, start, end, need = self._pieces(self.rings[:1], self.bottom[:1, one], self.band[:1, one])
        middle = self._eased(self.bottom[0, one], distinct(row)) + self.half[1]
        packed = self._packed(start, need)
        followed = np.append((row[1:] == row[:-1]) & (start[1:] < packed[:-1]), False)
        spare = np.where(followed, 0.0, packed - end)
        share = spare / (need + 1)
        place = np.arange(need.sum()) - np.repeat(np.cumsum(need) - need, need)
        first = np.repeat(start + self.half[0] - share, need)
        u = first + place * np.repeat(2 * self.core[0] - share, need)
        return np.stack([u, np.repeat(middle[row], need)], axis=-1)

    def _eased(self, bottom: Array, used: Index) -> Array:
        """Bottoms of rows, moved a little so that what they reach too far is shared by all seams and both rims."""
        first, last = used[[0, -1]]
        low, high = self.rings[0, :, 1].min(), self.rings[0, :, 1].max()
        spare = bottom[last] + 2 * self.half[1] - bottom[first] - (high - low)
        share = min(spare / (last - first + 2), EASE * self.half[1])
        if bottom[last] + 2 * self.half[1] - high < share or low - bottom[first] > share:
            return bottom
        return np.asarray(bottom - share * (1 + np.arange(len(bottom)) - first))


class _Chains:
    """Left and right rims of convex rings, of shape (A, E, 2), by height."""

    def __init__(self, rings: Array) -> None:
        size = rings.shape[1]
        if _turns_right(rings[0]):
            rings = rings[:, ::-1]
        u, v = rings[..., 0], rings[..., 1]
        self._low, self._high = v.min(axis=1)[:, None], v.max(axis=1)[:, None]
        self._apart = np.arange(len(rings))[:, None] * 2 * float((self._high - self._low).max())
        self._rims = []
        for side, corner, way in ((1, v.argmin(axis=1), 1), (-1, v.argmin(axis=1), -1)):
            order = (corner[:, None] + way * np.arange(size)) % size
            top = np.take_along_axis(v, order, axis=1).argmax(axis=1)
            order = np.take_along_axis(order, np.minimum(np.arange(size), top[:, None]), axis=1)
            far = (side * u).argmax(axis=1)[:, None]
            self._rims.append(
                (
                    (np.take_along_axis(v, order, axis=1) - self._low + self._apart).ravel(),
                    np.take_along_axis(u, order, axis=1).ravel(),
                    np.take_along_axis(v, far, axis=1),
                    np.take_along_axis(u, far, axis=1),
                )
            )

    def extent(self, low: Array, high: Array) -> tuple[Array, Array]:
        """Least and greatest u between heights, (A, S); infinite where the ring does not reach.

        A convex rim is farthest out at its apex, or at the height nearest to that.
        """
        empty = (high < self._low) | (low > self._high - LEAST_RISE)
        right, left = (self._farthest(rim, low, high) for rim in self._rims)
        return np.where(empty, np.inf, left), np.where(empty, -np.inf, right)

    def _farthest(self, rim: tuple[Array, Array, Array, Array], low: Array, high: Array) -> Array:
        heights, u, apex, far = rim
        at = np.clip(np.minimum(np.maximum(apex, low), high), self._low, self._high)
        found = np.interp((at - self._low + self._apart).ravel(), heights, u).reshape(low.shape)
        return np.where(at == apex, far, found)


def _turns(ring: Array) -> Array:
    edge = np.roll(ring, -1, axis=0) - ring
    turn = edge[:, 0] * np.roll(edge[:, 1], -1) - edge[:, 1] * np.roll(edge[:, 0], -1)
    return np.asarray(turn / float(np.abs(edge).max()) ** 2)


def _turns_right(ring: Array) -> bool:
    return bool(_turns(ring).sum() < 0)


def _is_convex(ring: Array) -> bool:
    turns = _turns(ring)
    return bool((turns >= -1e-9).all() or (turns <= 1e-9).all())

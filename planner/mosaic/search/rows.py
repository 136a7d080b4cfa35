"""How many panels sliding rows need at every camera angle, all angles and phases at once.

The region's outline is turned into the panels' chart for each angle. A row is a strip as high as a panel; it must
show all of the region in it. What the strip cuts off each edge of the outline has a shadow on the row; between
shadows the region either fills the strip or leaves it empty, which the edges crossed so far tell. Panels are
marched along what is not empty. Scale and convergence are those of the region's middle: counts are guides, and
the plans made from them are proven.
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

__all__ = ["count_rows"]

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
SIMPLE_WITHIN = 0.004
"""The outline may be simplified by this part of a panel's short half side; it grows by as much first."""
ROUNDING = 1e-9
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
    half = np.min([demand.half_size for demand in demands], axis=0)
    core = np.min([demand.core for demand in demands], axis=0)
    rings = _turned_outline(
        region, orientation, float(half.min()), np.radians(np.asarray(angles_deg, dtype=float))
    )
    low, high = rings[..., 1].min(axis=1), rings[..., 1].max(axis=1)
    count = np.maximum(1, np.ceil((high - low - 2 * half[1]) / (2 * core[1]) - ROUNDING).astype(int) + 1)
    rows = int(count.max()) + 1
    shift = np.arange(phases) / phases * 2 * core[1]
    bottom = low[:, None, None] - shift[:, None] + 2 * core[1] * np.arange(rows)
    per_row = _panels_in_strips(rings, bottom.reshape(len(rings), -1), half, core)
    total = per_row.reshape(bottom.shape).sum(axis=2)
    return np.asarray(total.min(axis=1))


def _turned_outline(region: Region, orientation: Orientation, size: float, angles: Array) -> Array:
    """Corners (A, E, 2) of the outline in the charts of all angles."""
    within = SIMPLE_WITHIN * size
    outline = region.polygon
    if len(outline.exterior.coords) > 40:
        outline = outline.buffer(within, quad_segs=1, join_style="mitre").simplify(within)
    longest = 10 * size
    ring = np.asarray(shapely.segmentize(outline, longest).exterior.coords)[:-1]
    uv = Chart(orientation, region.frame[2]).place(plane_to_vector(ring, region.frame))
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    return np.stack([cos * uv[:, 0] - sin * uv[:, 1], sin * uv[:, 0] + cos * uv[:, 1]], axis=-1)


def _panels_in_strips(rings: Array, bottom: Array, half: Array, core: Array) -> Counts:
    """Panels that each strip needs, shape (A, S), for strips that begin at `bottom`."""
    step = max(1, MOST_CELLS // (bottom.shape[1] * rings.shape[1]))
    parts = [slice(k, k + step) for k in range(0, len(rings), step)]
    return np.concatenate([_panels(rings[part], bottom[part], half, core) for part in parts])


def _panels(rings: Array, bottom: Array, half: Array, core: Array) -> Counts:
    shadows = _shadows(rings, bottom[..., None], bottom[..., None] + 2 * half[1])
    left, right = shadows
    box = half[0] - core[0]
    start, end = left.min(axis=-1), right.max(axis=-1)
    if _is_convex(rings[0]):
        need = np.ceil((end - start - 2 * box) / (2 * core[0]) - ROUNDING)
        return np.where(np.isfinite(start), np.maximum(need, 1), 0).astype(np.int64)
    middle = bottom[..., None] + half[1]
    return _marched(left, right, _crosses(rings, middle), half[0], box)


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

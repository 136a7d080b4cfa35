"""Where a panel can stand that serves a point: rectangles of a chart that enclose all such places.

They hold for every panel of an interval of angles, with the sphere's curvature allowed for, so a bound that rests
on them is a bound for every plan. For a point p and a panel at c let q be p's image in the panel's tangent plane.

*Turning.* Seen from p, a panel's axes are turned against the chart's by the offset of its angle, at most the
interval's half width, and by the convergence D of meridians along the great circle from c to p, for which
tan(D/2) = tan(dlon/2) sin(mean latitude) / cos(dlat/2) (Napier). Their sum is at most the point's *turn* T.

*Stretch.* A tangent plane magnifies the sky at distance t by sec t across and sec^2 t along the radius, so a small
vector keeps at least its length, grows by at most sec^2 t, and is tilted by at most (sec^2 t - sec t) / 2 of it.

Where the panel's box lies whole in the region however it is turned, it reaches as far as it is large. Elsewhere
turns are taken in steps: a box that fits into the panel's box under every turn up to half a step S, after that
stretch, is part of what the panel must show around p; cut with the region it reaches at least r cos S - s sin S
towards each side, less the tilt, where a corner of it stands r towards the side and s across. The least over all
steps counts. So q lies in a rectangle, and c in the image of that rectangle's rim under all turns. That image is
sampled, and widened by the bound of the error of interpolation, h^2/8 times the second derivative.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_change, seen_through, steady
from planner.mosaic.chart import Chart
from planner.mosaic.cutting import cut_corners, near_rim
from planner.mosaic.demand import Demand
from planner.mosaic.poles import greatest_turn
from planner.mosaic.region import Region

__all__ = ["enclosures"]

Array = NDArray[np.float64]
Pair = tuple[Array, Array]
SIGNS = np.array([1.0, -1.0, 1.0, -1.0])
"""Of x towards left and right, of y up and down."""
BOX = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
SAMPLES = 9
"""Along each side of a rectangle's rim; five left slack of a hundredth of a panel where meridians converge."""
ALONG = np.linspace(-1.0, 1.0, SAMPLES).tolist()
RIM = np.array(
    [(s, t) for s in (-1.0, 1.0) for t in ALONG] + [(t, s) for s in (-1.0, 1.0) for t in ALONG[1:-1]]
)
TURN_STEP = 0.06
"""Radians; at the rim turns are taken in steps of twice this or less."""
ARCS_APART = 0.99
"""Arcs that corners sweep count as meeting a little early."""
GREATEST_TURN = 0.9
"""Radians; points with more than this are left out, which only makes a bound weaker."""


def enclosures(
    region: Region, chart: Chart, demand: Demand, points: Array, half_interval_rad: float
) -> tuple[Array, NDArray[np.bool_]]:
    """Rectangles of the chart that hold every place from which a panel serves a point.

    Parameters
    ----------
    region : Region
    chart : Chart
        Of the middle angle.
    demand : Demand
    points : ndarray, shape (P, 3)
    half_interval_rad : float
        Panels may be turned by up to this against the chart's orientation.

    Returns
    -------
    ndarray, shape (P, 4)
        Least and greatest u, least and greatest v.
    ndarray of bool, shape (P,)
        Points for which there is a rectangle; the others must not be used.
    """
    half = np.array(demand.half_size)
    far = steady.arctan(steady.hypot(*half))
    latitude = steady.arcsin(np.clip(steady.dot(points, chart.orientation.rotation[2]), -1.0, 1.0))
    usable = np.abs(latitude) + 1.1 * far < math.pi / 2
    turn = greatest_turn(np.where(usable, latitude, 0.0), far) + half_interval_rad
    usable &= turn < GREATEST_TURN
    turn = np.where(usable, turn, GREATEST_TURN)
    reach = _least_reach(region, chart, demand, points, turn, far)
    low, high = -half + reach[:, (1, 3)], half - reach[:, (0, 2)]
    extent = _image(chart, points, low, high, half_interval_rad)
    top = np.minimum(np.where(usable, np.abs(latitude), 0.0) + far, 1.5)
    slack = _interpolation_error(top, half, far, half_interval_rad) * chart.scale(top)
    extent += slack[:, None] * np.array([-1.0, 1.0, -1.0, 1.0])
    return extent, usable & np.isfinite(extent).all(axis=1)


def _least_reach(
    region: Region, chart: Chart, demand: Demand, points: Array, turn: Array, far: float
) -> Array:
    """How far at least, in a panel's plane, what must be seen around a point reaches to left, right, up, down."""
    box = np.array(demand.box)
    if box.min() <= 0:
        return np.zeros((len(points), 4))
    tilt = (1.0 / steady.cos(far) ** 2 - 1.0 / steady.cos(far)) / 2
    reach = np.tile(np.repeat(box, 2), (len(points), 1))
    shapely.prepare(region.polygon)
    rim = near_rim(region, points, steady.hypot(*box))
    bases = chart.orientation.bases(points[rim])
    cut = ~_are_whole(region, bases, box, turn[rim] + tilt)
    rim, bases = rim[cut], bases[cut]
    if len(rim):
        steps = math.ceil(float(turn[rim].max()) / TURN_STEP)
        half_step = turn[rim] / max(1, steps)
        for number in range(1 - steps, steps, 2) if steps else (0,):
            found = _reach_within(region, bases, box, number * half_step, half_step, (far, tilt))
            reach[rim] = np.minimum(reach[rim], found)
    return reach


def _are_whole(region: Region, bases: Array, box: Array, turn: Array) -> NDArray[np.bool_]:
    """Whether the region holds the whole boxes of all panels that are turned by up to an angle at points, (P,).

    Each corner sweeps an arc, which its ends and the crossing of the tangents there enclose. Where arcs do not meet,
    these twelve points are a convex ring, in the region's plane too.
    """
    (x, y), size = (BOX * box).T, steady.hypot(*box.tolist())
    direction = steady.arctan2(y, x)
    angle = direction[:, None] + turn[:, None, None] * np.array([-1.0, 0.0, 1.0])
    far = np.stack([np.ones(len(turn)), 1.0 / steady.cos(turn), np.ones(len(turn))], axis=-1)[:, None]
    radius = size * (1.0 + size**2) * far
    cos, sin = steady.cos_sin(angle)
    xy = np.stack([radius * cos, radius * sin], axis=-1).reshape(len(turn), 12, 2)
    shapes = np.asarray(shapely.polygons(seen_through(xy, plane_change(bases, region.basis)[:, None])))
    meet = turn >= ARCS_APART * steady.arctan(float(box.min() / box.max()))
    shapes[meet] = shapely.convex_hull(shapes[meet])
    return np.asarray(shapely.contains_properly(region.polygon, shapes))


def _reach_within(
    region: Region, bases: Array, box: Array, middle: Array, turn: Array, lens: tuple[float, float]
) -> Array:
    """Least reach (P, 4) of boxes that are turned by up to an angle from a middle turn; lens: greatest size, tilt."""
    far, tilt = lens
    within = steady.cos_sin(turn)
    boxes = box * _kept_share(box, within, far, tilt)[:, None]
    cos, sin = steady.cos_sin(middle)
    back = np.stack([np.stack([cos, sin], axis=-1), np.stack([-sin, cos], axis=-1)], axis=-2)
    rings = steady.times(BOX * boxes[:, None], back[:, None])
    xy, who = cut_corners(region, seen_through(rings, plane_change(bases, region.basis)[:, None]))
    local = seen_through(xy, plane_change(region.basis, bases)[who])
    reach = np.zeros((len(bases), 4))
    _raise(reach, who, steady.dot(local[:, None], back[who]), within, tilt)
    return reach


def _kept_share(box: Array, turn: Pair, far: float, tilt: float) -> Array:
    """Scale of a box that fits into the box of every panel, however it is turned and stretched, shape (P,).

    Turns are given by cosine and sine, each of shape (P,).
    """
    cos, sin = turn
    turned = np.stack([box[0] * cos + box[1] * sin, box[0] * sin + box[1] * cos], axis=-1)
    flat = (box / turned).min(axis=1)
    stretched = tilt * steady.hypot(*box) / float(box.min())
    return np.asarray(np.clip(flat * steady.cos(far) ** 2 - stretched, 0.0, 1.0))


def _raise(reach: Array, who: NDArray[np.intp], corners: Array, turn: Pair, tilt: float) -> None:
    """Raise the reach of points to what their boxes' corners, in their own planes, reach under every turn."""
    along = np.repeat(corners, 2, axis=1) * SIGNS
    across = np.abs(along[:, [2, 2, 0, 0]])
    size = np.sqrt(steady.dot(corners, corners))[:, None]
    cos, sin = (each[who, None] for each in turn)
    np.maximum.at(reach, who, (along * cos - across * sin) * (1.0 - size**2) - tilt * size)


def _image(chart: Chart, points: Array, low: Array, high: Array, half_interval: float) -> Array:
    """Extent (P, 4) in the chart of the places that show points on the rims of rectangles, at all sampled turns."""
    middle, half = (low + high) / 2, (high - low) / 2
    left, up = (
        middle[:, k] + half[:, k] * RIM[:, k, None, None] for k in (0, 1)
    )  # by sample, turn and point
    turns = np.array([-half_interval, half_interval][: 1 + (half_interval > 0.0)])[:, None]
    found = chart.uv_showing(points, left, up, turns)
    ends = [end for each in found for end in (each.min(axis=(0, 1)), each.max(axis=(0, 1)))]
    return np.stack(ends, axis=-1)


def _interpolation_error(top: Array, half: Array, far: float, half_interval: float) -> Array:
    """Most that the extent can exceed its samples, as a length on the sky, shape (P,).

    With the greatest latitude within reach, `top` = b, second derivatives are at most
    4 (tan b + tan far) (1 + tan b tan far) along the rim and 2 tan far (1 + tan b tan far) by angle.
    """
    steep, tan_far = steady.tan(top), steady.tan(far)
    bend = 1.0 + steep * tan_far
    step = 2.0 * half.max() / (SAMPLES - 1)
    along = step**2 / 8 * 4 * (steep + tan_far) * bend
    by_angle = half_interval**2 / 2 * 2 * tan_far * bend
    return np.asarray(along + by_angle)

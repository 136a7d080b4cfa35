"""Proof that no placement leaves more room: an upper bound over all centres and angles, by boxes of them.

A placement is the turn R = Ry(b) Rx(a) Rz(phi) of the basis at the shape's middle: turned by phi, moved up by a,
moved left by b. A corner has the longitude l = atan2(X, Z) about the field's up axis and the latitude k to it. When
the field turns with angular velocity w, l changes by

    l' = -wy + tan k (wz cos l + wx sin l),   k' = wx cos l - wz sin l

(body axes x left, y up, z out), and by the difference of two such expressions for two corners, in which wy cancels.
A field whose left and right sides hold two corners must span l1 - l2, however it is centred: room <= half width -
tan((l1 - l2) / 2). Over a box of placements l and l1 - l2 are bounded by their values and derivatives at the
box's middle and by bounds on their second derivatives, and rooms by lines over phi; boxes that cannot beat the
best known placement drop out, others are halved. Up and down alike, with x and y exchanged.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from .allowed import Arc, may_be_allowed, steepness
from .opening import Opening
from .shape import Shape

__all__ = ["room_bound"]

Array = NDArray[np.float64]
BATCH = 2048
FIRST_ANGLES = 90
LOOKS = (0.0, 0.5, -0.5)
"""Corners are taken that are nearest to the sides at a box's middle, and half way to its ends in phi."""
LINES = np.array(list(combinations_with_replacement(range(4 + 2 * len(LOOKS)), 2)))
"""Pairs of the lines that bound the room: left, right, top, bottom, and across and along for each look."""
WIDEST = 1.5
"""Radians: boxes that see a corner at this distance bound nothing yet."""


@dataclass(frozen=True, eq=False)
class _Boxes:
    """Boxes of placements: middles and half sizes (phi, a, b), shape (N, 3) each, radians."""

    middle: Array
    half: Array

    def halved(self, axis: NDArray[np.int64]) -> _Boxes:
        step = np.zeros_like(self.half)
        every = np.arange(len(axis))
        step[every, axis] = self.half[every, axis] / 2
        middles = np.concatenate([self.middle - step, self.middle + step])
        return _Boxes(middles, np.concatenate([self.half - step, self.half - step]))

    def at(self, which: NDArray[np.bool_] | slice) -> _Boxes:
        return _Boxes(self.middle[which], self.half[which])


def room_bound(
    shape: Shape,
    opening: Opening,
    known: float,
    *,
    close: float,
    most_boxes: int,
    arcs: Sequence[Arc] | None = None,
) -> float:
    """Return an upper bound of the room that any placement of the field leaves.

    Parameters
    ----------
    shape : Shape
    opening : Opening
    known : float
        Room of the best placement known.
    close : float
        A bound so near to it is near enough.
    most_boxes : int
        The work ends after so many boxes; then the bound is what they prove.
    arcs : sequence of (float, float), optional
        Position angles allowed, first and span in radians, modulo half a turn; all of them where left out.

    Returns
    -------
    float
        At least `known`; at most `known + close` unless the boxes ran out.
    """
    corners = shape.corners @ shape.basis.T
    boxes, target, looked = _first(opening, known), known + close, 0
    highest = target
    while len(boxes.middle) and looked < most_boxes:
        looked += len(boxes.middle)
        left, bounds = [], [target]
        for first in range(0, len(boxes.middle), BATCH):
            some = boxes.at(slice(first, first + BATCH))
            steep = np.zeros(len(some.middle))
            if arcs is not None:
                some = some.at(may_be_allowed(some.middle, some.half, shape.basis, arcs))
                steep = steepness(some.middle, some.half, shape.basis)
            if not len(some.middle):
                continue
            bound, axis = _bounds(corners, opening, known, some, steep)
            still = bound > target
            left.append(some.at(still).halved(axis[still]))
            bounds.append(float(bound.max()))
        if not left:
            return target
        boxes = _Boxes(
            np.concatenate([one.middle for one in left]), np.concatenate([one.half for one in left])
        )
        highest = max(bounds)
    return max(known, highest if len(boxes.middle) else target)


def _first(opening: Opening, known: float) -> _Boxes:
    """All placements that can leave as much room: they hold the middle, which lies within the shape."""
    sizes = (opening.sizes - known) * opening.units
    reach = math.atan(math.hypot(sizes[0], sizes[2]))
    half = np.array([np.pi / 2 / FIRST_ANGLES, reach, reach])
    phi = (2 * np.arange(FIRST_ANGLES) + 1) * half[0]
    return _Boxes(
        np.stack([phi, np.zeros_like(phi), np.zeros_like(phi)], axis=-1), np.tile(half, (len(phi), 1))
    )


def _bounds(
    corners: Array, opening: Opening, known: float, boxes: _Boxes, steep: Array
) -> tuple[Array, NDArray[np.int64]]:
    """Bound of the room in each box, shape (N,), and the axis along which to halve it.

    `steep` is how much a way of the centre turns the position angle where that is limited.
    """
    seen, changes, distance = _touching(corners, boxes)
    lift, tilt = _angles(seen, changes)
    values = np.concatenate([lift[:, :4], (lift[:, ::2] + lift[:, 1::2]) / 2], axis=1)
    slopes = np.concatenate([tilt[:, :4], (tilt[:, ::2] + tilt[:, 1::2]) / 2], axis=1)
    bent = _curvatures(boxes.half, boxes.middle, distance)
    drop = (np.abs(slopes[..., 1:]) @ boxes.half[:, 1:, None])[..., 0]
    height, slope = _lines(opening, values - drop - bent / 2, slopes[..., 0])
    bound, pair = _highest(height, slope, boxes.half[:, 0])
    swing = boxes.half[:, 1:].sum(axis=1) + boxes.half[:, 0]
    sizes = (opening.sizes - known) * opening.units
    hopeless = distance - swing > math.atan(math.hypot(sizes[0], sizes[2]))
    bound = np.where(distance + swing > WIDEST, np.inf, bound)
    return np.where(hopeless, -np.inf, bound), _axis(
        height, bound, slopes, bent, pair, boxes, distance, steep
    )


def _lines(opening: Opening, least: Array, slope: Array) -> tuple[Array, Array]:
    """Heights and slopes, (N, L), of lines over phi above the room that angles at least so large leave."""
    sizes, units = (
        np.concatenate([one, np.tile(one[::2], len(LOOKS))]) for one in (opening.sizes, opening.units)
    )
    at = np.clip(least, -WIDEST, WIDEST)
    steep = 1 / np.cos(at) ** 2
    return sizes - (np.tan(at) + steep * (least - at)) / units, -steep * slope / units


def _highest(height: Array, slope: Array, half: Array) -> tuple[Array, NDArray[np.int64]]:
    """Highest point below the lines over [-half, half], and the pair of lines that decides: shape (N,) each."""
    (h1, h2), (s1, s2) = (one[:, LINES].transpose(2, 0, 1) for one in (height, slope))
    reach = half[:, None]
    ends = np.maximum(
        np.minimum(h1 - s1 * reach, h2 - s2 * reach), np.minimum(h1 + s1 * reach, h2 + s2 * reach)
    )
    gap = s1 - s2
    cross = (h2 - h1) / np.where(gap == 0.0, np.inf, gap)
    inside = (np.abs(cross) < reach) & (gap != 0.0)
    highest = np.maximum(ends, np.where(inside, h1 + s1 * cross, -np.inf))
    pair = highest.argmin(axis=1)
    return highest[np.arange(len(pair)), pair], pair


def _axis(
    height: Array,
    bound: Array,
    slopes: Array,
    bent: Array,
    pair: NDArray[np.int64],
    boxes: _Boxes,
    distance: Array,
    steep: Array,
) -> NDArray[np.int64]:
    """Return the axis that the bound suffers from most: of phi, a and b."""
    lines = LINES[pair]
    every = np.arange(len(pair))[:, None]
    loss = (np.abs(slopes) * boxes.half[:, None])[every, lines].mean(axis=1)
    turned = bound - height[every, lines].min(axis=1)
    loss[:, 0] = np.where(np.isfinite(turned), turned, boxes.half[:, 0])
    turning = np.abs(slopes[every, lines, 0]).mean(axis=1)
    loss[:, 1:] += (turning * steep)[:, None] * boxes.half[:, 1:]
    for axis in range(3):
        thin = boxes.half.copy()
        thin[:, axis] = 0.0
        saved = bent - _curvatures(thin, boxes.middle, distance)
        loss[:, axis] += saved[every, lines].mean(axis=1) / 2
    return np.asarray(loss.argmax(axis=1))


def _touching(corners: Array, boxes: _Boxes) -> tuple[Array, Array, Array]:
    """Corners nearest to the four sides at each look, (N, 12, 3), and their changes, (N, 12, 3, 3).

    Besides, shape (N,): how far the farthest of them lies from the field's centre.
    """
    (cp, ca, cb), (sp, sa, sb) = (part(boxes.middle.T)[..., None] for part in (np.cos, np.sin))
    x0, y0, z0 = corners.T
    x, y = cp * x0 - sp * y0, cp * y0 + sp * x0
    up, deep = ca * y - sa * z0, sa * y + ca * z0
    left, out = cb * x - sb * deep, sb * x + cb * deep
    safe = np.maximum(out, 1e-9)
    across, along = left / safe, up / safe
    which = _nearest(across, along, boxes.half[:, :1])
    x, y, up, deep, left, out = (
        np.take_along_axis(one, which, axis=1) for one in (x, y, up, deep, left, out)
    )
    by_phi = np.stack([-cb * y - sa * sb * x, ca * x, -sb * y + sa * cb * x], axis=-1)
    by_a = np.stack([-sb * up, -deep, cb * up], axis=-1)
    by_b = np.stack([-out, np.zeros_like(out), left], axis=-1)
    distance = np.arctan2(np.hypot(left, up), out).max(axis=1)
    return np.stack([left, up, out], axis=-1), np.stack([by_phi, by_a, by_b], axis=2), distance


def _nearest(across: Array, along: Array, half: Array) -> NDArray[np.int64]:
    """Which corners are nearest to the sides as the field turns, shape (N, 12)."""
    found = []
    for look in LOOKS:
        x, y = (
            (across, along) if look == 0.0 else (across - look * half * along, along + look * half * across)
        )
        found += [x.argmax(1), x.argmin(1), y.argmax(1), y.argmin(1)]
    return np.stack(found, axis=1)


def _angles(seen: Array, changes: Array) -> tuple[Array, Array]:
    """Angles of the corners towards their sides, (N, 12), and how they change with phi, a, b, (N, 12, 3)."""
    axis, sign = np.tile([0, 0, 1, 1], len(LOOKS)), np.tile([1.0, -1.0, 1.0, -1.0], len(LOOKS))
    side = seen[:, np.arange(len(axis)), axis]
    moves = changes[:, np.arange(len(axis)), :, axis].transpose(1, 0, 2)
    out, outward = seen[..., 2], changes[..., 2]
    tilt = (moves * out[..., None] - side[..., None] * outward) / (side**2 + out**2)[..., None]
    return sign * np.arctan2(side, out), sign[:, None] * tilt


def _curvatures(half: Array, middle: Array, distance: Array) -> Array:
    """Bounds on the second derivatives, over boxes, of the angles that the lines stand for, shape (N, L).

    With u = k', v = wz cos l + wx sin l the second derivative of l is -wy' + (1 + 2 tan^2 k) u v - tan k (u wy -
    w'), where |w'| is what the turning of the axes of a and b among each other makes of the angular velocity. In
    the difference of two corners wy' cancels, and u v = wx wz cos 2l + (wx^2 - wz^2) sin 2l / 2 nearly does.
    """
    phi, a, b = half.T
    rho = np.minimum(distance + a + b + phi, WIDEST)
    sin_a, sin_b = (np.sin(np.minimum(np.abs(middle[:, i]) + half[:, i], np.pi / 2)) for i in (1, 2))
    wx, wy, wz = a + phi * sin_b, b + phi * sin_a, phi + a * sin_b
    turning = a * b + phi * (a + b)
    across = _curvature(rho, wx, wy, wz, turning)
    along = _curvature(rho, wy, wx, wz, turning)
    pairs = [across[1] / 2, along[1] / 2] * len(LOOKS)
    return np.stack([across[0], across[0], along[0], along[0], *pairs], axis=-1)


def _curvature(rho: Array, wx: Array, wy: Array, wz: Array, turning: Array) -> tuple[Array, Array]:
    """Bounds for one corner and for the difference of two, within rho of the field's centre."""
    tan, speed = np.tan(rho), np.hypot(wx, wz)
    most, cos = 1 + 2 * tan**2, np.cos(2 * rho)
    one = turning * (1 + tan) + most * speed**2 / 2 + tan * speed * wy
    crossed = wx * wz * (most - np.minimum(cos, most * cos))
    level = most * np.sin(np.minimum(2 * rho, np.pi / 2)) * np.maximum(wx, wz) ** 2
    return one, crossed + level + 2 * tan * (speed * wy + turning)

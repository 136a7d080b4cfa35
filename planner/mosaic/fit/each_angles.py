"""The position angles at which a field leaves enough room, for each of many shapes in one sweep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .angles import CLOSE_RAD, FINEST_RAD, ROUNDS, TOUCH, angles_with_room, paired
from .batches import centered, corners_of
from .centers import best_centers
from .each_best import EachBest, flat_rooms
from .many import MOST_CORNERS, pole_distances
from .opening import Opening
from .shape import Shape

__all__ = ["angles_of_each"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
Stretches = tuple[tuple[float, float], ...]
ALL: Stretches = ((0.0, 180.0),)
STEP_RAD = math.radians(1.0)
ROOM_OFF = 3.0
"""Of the cubed radius: by so much rooms in a plane may be off."""
NEAR_POLE = 3.0
"""Within so many radii of a pole shapes are looked at one by one."""


def angles_of_each(
    shapes: Sequence[Shape], opening: Opening, least: float, bests: Sequence[EachBest]
) -> tuple[Stretches, ...]:
    """Return the stretches of position angles, degrees, at which each shape has at least this room at some centre.

    What `angles_with_room` gives, sooner: rooms in a plane tell of most angles that they do or do not, the others
    are looked at, as closely as ends of stretches need.

    Parameters
    ----------
    shapes : sequence of Shape
    opening : Opening
    least : float
        In the opening's unit.
    bests : sequence of EachBest
        Of the same shapes; their angles are looked at too.
    """
    distances = pole_distances(shapes)
    found: dict[int, Stretches] = {}
    together = []
    for k, best in enumerate(bests):
        if best.least >= least:
            found[k] = ALL
        elif best.most < least:
            found[k] = ()
        elif distances[k] >= NEAR_POLE:
            together.append(k)
        else:
            found[k] = angles_with_room(shapes[k], opening, least, (_angle_rad(best),))
    if together:
        search = _Search([shapes[k] for k in together], opening, least - TOUCH)
        angles = np.array([_angle_rad(bests[k]) for k in together])
        found.update(zip(together, search.stretches(angles), strict=True))
    return tuple(found[k] for k in range(len(shapes)))


def _angle_rad(best: EachBest) -> float:
    return math.radians(best.placement.position_angle_deg)


@dataclass(frozen=True, eq=False)
class _Samples:
    """Angles of shapes, sorted by shape and angle, and by how much their room exceeds what is asked."""

    shape: Index
    angle: Array
    over: Array
    center: Array

    def joined(self, other: _Samples) -> _Samples:
        """Both together, sorted."""
        parts = [
            np.concatenate([getattr(self, name), getattr(other, name)])
            for name in ("shape", "angle", "over", "center")
        ]
        order = np.lexsort((parts[1], parts[0]))
        return _Samples(*(part[order] for part in parts))

    def at(self, which: Index | Mask) -> _Samples:
        """Return some of the samples."""
        return _Samples(self.shape[which], self.angle[which], self.over[which], self.center[which])

    @property
    def after(self) -> Index:
        """Index of the next angle of the same shape, round the half turn, for each sample."""
        following = np.arange(1, len(self.shape) + 1)
        last = np.append(self.shape[1:] != self.shape[:-1], True)
        following[last] = np.flatnonzero(np.diff(self.shape, prepend=-1))
        return following

    @property
    def width(self) -> Array:
        """How far the next angle lies ahead, radians."""
        return np.asarray((self.angle[self.after] - self.angle) % np.pi)


class _Search:
    """Shapes far from the poles, and what room is asked for."""

    def __init__(self, shapes: Sequence[Shape], opening: Opening, least: float) -> None:
        self.opening, self.least = opening, least
        self.corners = [one.corners for one in shapes]
        self.middles = np.stack([one.basis[2] for one in shapes])
        self.radii = np.array([one.radius_rad for one in shapes])
        self.flat = np.concatenate([flat_rooms(one.local[None], opening) for one in shapes]) - least

    def stretches(self, bests_rad: Array) -> list[Stretches]:
        """Return the stretches of every shape; angles of their best fields are looked at besides."""
        samples = self._first(bests_rad)
        while (gaps := self._gaps(samples)).any():
            middle = (samples.angle + samples.width / 2)[gaps] % np.pi
            samples = samples.joined(self._looked_at(samples.shape[gaps], middle, samples.center[gaps]))
        return self._between_ends(samples)

    def _first(self, bests_rad: Array) -> _Samples:
        """Angles a degree apart, exactly where the plane cannot tell, and the best ones."""
        shape, place = np.indices(self.flat.shape).reshape(2, -1)
        over = self.flat.ravel().copy()
        slack = (ROOM_OFF * self.radii**3 + self.radii * STEP_RAD / 2) / self.opening.units.min()
        high = self._turned_at_most() + slack[:, None]
        sure = (self.flat - slack[:, None] >= 0.0) | (high < 0.0)
        over = np.where(sure.ravel(), np.where(over >= 0.0, np.inf, -np.inf), over)
        known = _Samples(shape, np.asarray(STEP_RAD * place, dtype=float), over, self.middles[shape])
        ask = ~sure.ravel()
        exact = self._looked_at(shape[ask], np.asarray(STEP_RAD * place[ask]), self.middles[shape[ask]])
        every = np.arange(len(self.radii))
        best = self._looked_at(every, bests_rad % np.pi, self.middles)
        return known.at(~ask).joined(exact).joined(best)

    def _turned_at_most(self) -> Array:
        """Highest room in the plane about each angle, as far as fields turn where meridians converge."""
        steep = np.abs(self.middles[:, 2]) / np.hypot(self.middles[:, 0], self.middles[:, 1])
        turns = np.ceil(np.degrees(math.hypot(*self.opening.half) * steep) + 1.0).astype(int)
        high = self.flat.copy()
        for turn in range(1, min(90, int(turns.max())) + 1):
            some = turns >= turn
            for way in (turn, -turn):
                high[some] = np.maximum(high[some], np.roll(self.flat[some], way, axis=1))
        return high

    def _looked_at(self, shape: Index, angle: Array, center: Array) -> _Samples:
        """Fields at these angles, moved to where the least room is largest."""
        over, centers = np.empty(len(shape)), np.empty((len(shape), 3))
        each = max(1, MOST_CORNERS // max(map(len, self.corners)))
        for first in range(0, len(shape), each):
            some = slice(first, first + each)
            corners = corners_of([self.corners[k] for k in shape[some]])
            placed = centered(corners, self.opening, center[some], angle[some])
            reach = np.maximum(self.radii[shape[some]], min(self.opening.half)) / 10
            placed = best_centers(corners, self.opening, placed.centers, angle[some], reach)
            over[some], centers[some] = placed.room - self.least, placed.centers
        return _Samples(shape, angle, over, centers)

    def _gaps(self, samples: _Samples) -> Mask:
        """Gaps after each sample that may hold an end unseen; see `angles.room_curve`."""
        after, width = samples.after, samples.width
        rate = 1.5 * self.radii[samples.shape]
        near = np.abs(samples.over) + np.abs(samples.over[after]) < rate * width
        alike = (samples.over >= 0.0) == (samples.over[after] >= 0.0)
        return np.asarray(near & alike & (width > FINEST_RAD))

    def _between_ends(self, samples: _Samples) -> list[Stretches]:
        enough = samples.over >= 0.0
        ends = np.flatnonzero(enough != enough[samples.after])
        turns = np.degrees(self._ends(samples, ends))
        found: list[Stretches] = []
        for k in range(len(self.radii)):
            mine = samples.shape == k
            own = samples.shape[ends] == k
            found.append(
                paired(turns[own], ~enough[ends[own]]) if own.any() else ALL if enough[mine].any() else ()
            )
        return found

    def _ends(self, samples: _Samples, ends: Index) -> Array:
        """Angles where the room passes what is asked, on the side of enough; see `angles._ends`."""
        beyond, shape = samples.after[ends], samples.shape[ends]
        rising = samples.over[ends] < 0.0
        out, inside = np.where(rising, ends, beyond), np.where(rising, beyond, ends)
        width = samples.width[ends]
        low, high = np.where(rising, 0.0, width), np.where(rising, width, 0.0)
        limit = self.radii[shape]
        short, over = np.maximum(samples.over[out], -limit), np.minimum(samples.over[inside], limit)
        for _ in range(ROUNDS):
            left = np.flatnonzero(np.abs(high - low) > CLOSE_RAD)
            if not len(left):
                break
            share = np.clip(-short[left] / np.maximum(over[left] - short[left], 1e-30), 0.01, 0.99)
            middle = low[left] + share * (high[left] - low[left])
            angle = samples.angle[ends[left]] + middle
            value = self._looked_at(shape[left], angle, samples.center[inside[left]]).over
            enough = value >= 0
            low[left], high[left] = np.where(enough, low[left], middle), np.where(enough, middle, high[left])
            short[left] = np.where(enough, short[left] / 2, value)
            over[left] = np.where(enough, value, over[left] / 2)
        return np.asarray(samples.angle[ends] + high)

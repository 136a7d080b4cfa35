"""Rows of panels along parallels of a spherical system: how far each panel holds its row's band, and the march.

Panels that stand tilted in their row count with the part of them that fills the band. All angles are in radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import steady
from planner.mosaic.orientation import Orientation

from .strips import Pieces

__all__ = ["Ring", "Rows"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
LEAST_SHARE = 0.2
"""Rows whose tilted panels keep less of their core than this are not worth their panels."""
AROUND = 72
"""Places along a row at which its narrowest panel is sought."""
CLOSING, SLOW_STEPS = 0.3, 2
"""Steps towards a centre close in fast if each is shorter than the last by this factor; else more follow."""
HAIR = 2e-11
"""By so much panels stand closer than they might, against rounding."""


@dataclass(frozen=True)
class Ring:
    """A system whose parallels the rows follow, and what the panels give there.

    Parameters
    ----------
    system, orientation : Orientation
        Of the rows and of the panels.
    core, half : (float, float)
        Half sizes of the panels' core and shape in the tangent plane.
    """

    system: Orientation
    orientation: Orientation
    core: tuple[float, float]
    half: tuple[float, float]

    @cached_property
    def rotation(self) -> Array:
        """Matrix that takes ICRS vectors into the rows' system."""
        return self.system.rotation

    @cached_property
    def turned(self) -> bool:
        """Whether the panels' height, not their width, runs along the rows at the middle of the system."""
        return abs(steady.sin(float(self.tilts(0.0, 0.0)))) > math.sqrt(0.5)

    @cached_property
    def aligned(self) -> bool:
        """Whether every panel stands parallel to its row."""
        own_axis = abs(float(self._pole[2])) > 1 - 1e-14
        return own_axis and abs(steady.sin(math.radians(2 * self.orientation.angle_deg))) < 1e-9

    @cached_property
    def _pole(self) -> Array:
        """North pole of the panels' system, seen in the rows' system."""
        return steady.dot(self.rotation, self.orientation.rotation[2])

    @property
    def height(self) -> float:
        """Half height of a core across its row."""
        return self.core[0] if self.turned else self.core[1]

    @property
    def box(self) -> tuple[float, float]:
        """Half sizes, along and across the rows, of the box that a core's rim keeps inside the panel."""
        wide, tall = self.half[0] - self.core[0], self.half[1] - self.core[1]
        return (tall, wide) if self.turned else (wide, tall)

    @property
    def side(self) -> float:
        """Half height of a panel across its row."""
        return self.half[0] if self.turned else self.half[1]

    def centers(self, longitude: Array, latitude: Array) -> Array:
        """ICRS unit vectors, shape (N, 3), of positions in the rows' system."""
        return self.system.centers(np.degrees(longitude), np.degrees(latitude))

    def tilts(self, longitude: ArrayLike, latitude: ArrayLike) -> Array:
        """How far the panels' up is turned from the rows' north towards their east, at centres in the system.

        The panels' own north lies in the direction of their system's pole; `Orientation` turns them from there.
        """
        cos, sin = self._tilt(
            np.asarray(longitude, dtype=float), *steady.cos_sin(np.asarray(latitude, dtype=float))
        )
        return steady.arctan2(sin, cos)

    def _tilt(self, longitude: Array, cos_latitude: Array, sin_latitude: Array) -> tuple[Array, Array]:
        """Cosine and sine of the tilt."""
        x, y, z = self._pole
        cos, sin = steady.cos_sin(longitude)
        north, east = cos_latitude * z - sin_latitude * (cos * x + sin * y), cos * y - sin * x
        far = np.asarray(steady.hypot(north, east))
        at_pole, whole = far == 0.0, np.where(far > 0.0, far, 1.0)
        north, east = np.where(at_pole, 1.0, north / whole), east / whole
        turn_cos, turn_sin = self._turn
        return north * turn_cos - east * turn_sin, east * turn_cos + north * turn_sin

    @cached_property
    def _turn(self) -> tuple[float, float]:
        return steady.cos_sin(math.radians(self.orientation.angle_deg))

    def reaches(self, longitude: Array, latitude: Array, band: Array, shown: Array) -> tuple[Array, Array]:
        """Half widths, in longitude, at centres along a row, over which the core fills a band and the shape another.

        Parameters
        ----------
        longitude, latitude, band, shown : ndarray
            Broadcast; the bands by their half heights.
        """
        return self.reaches_by(longitude, steady.cos_sin(latitude), band, shown)

    def reaches_by(
        self, longitude: Array, latitude: tuple[Array, Array], band: Array, shown: Array
    ) -> tuple[Array, Array]:
        """Return the same, with latitudes by their cosines and sines."""
        leaning, narrow = self._leaning(longitude, latitude), _narrow(latitude, band)
        core = _filled(self.core, *leaning, band)
        side = np.maximum(core, _filled(self.half, *leaning, shown))
        found = steady.arctan2(np.stack([core, side]), narrow)
        return found[0], found[1]

    def core_reaches_by(self, longitude: Array, latitude: tuple[Array, Array], band: Array) -> Array:
        """Return the core's half widths alone."""
        core = _filled(self.core, *self._leaning(longitude, latitude), band)
        return steady.arctan2(core, _narrow(latitude, band))

    def _leaning(
        self, longitude: Array, latitude: tuple[Array, Array]
    ) -> tuple[NDArray[np.bool_], Array, Array]:
        """Whether the height runs along the row, and sine and cosine of the tilt of the side that does."""
        cos, sin = map(np.abs, self._tilt(longitude, *latitude))
        steep = sin > cos
        return steep, np.where(steep, cos, sin), np.where(steep, sin, cos)


def _narrow(latitude: tuple[Array, Array], band: Array) -> Array:
    """Length of a radian of longitude where a band is the narrowest, latitudes by their cosines and sines."""
    return np.maximum(1e-6, latitude[0] + band * np.abs(latitude[1]))


def _filled(
    half: tuple[float, float], steep: NDArray[np.bool_], sin: Array, cos: Array, band: Array
) -> Array:
    """Half width along the row over which a rectangle, tilted by up to 45 degrees, fills a band about it."""
    a, b = np.where(steep, half[1], half[0]), np.where(steep, half[0], half[1])
    slanted = (b * (1 + 1e-9) - band * cos) / np.maximum(sin, 1e-12)
    return np.asarray(np.minimum((a - band * sin) / cos, slanted))


class Rows:
    """Rows of one ring, each with its latitude and the half height of its band, and the pieces they must hold.

    Parameters
    ----------
    ring : Ring
    latitude, band, shown : ndarray, shape (R,)
        `shown` is the half height that panels at the ends of pieces must show.
    pieces : Pieces
        Of longitude, by row; all pieces of a row must be held.
    mirrored : bool
        Whether longitudes are counted the other way.
    around : ndarray of int, shape (R,), optional
        What the attribute of that name says, if it is known.
    """

    def __init__(
        self,
        ring: Ring,
        latitude: Array,
        band: Array,
        shown: Array,
        pieces: Pieces,
        *,
        mirrored: bool = False,
        around: Index | None = None,
    ) -> None:
        self.ring, self.latitude, self.band, self.shown, self.pieces = ring, latitude, band, shown, pieces
        self._first = np.searchsorted(pieces.strip, np.arange(len(latitude) + 1))
        self._sign = -1.0 if mirrored else 1.0
        self._cos, self._sin = steady.cos_sin(latitude)
        self.fills = np.ones(len(latitude), dtype=bool)
        """Whether the panels keep enough of their core; False as soon as the march finds that they do not."""
        self.around = self._all_around() if around is None else around
        """Panels of rows that run all around the pole; 0 for others."""

    def spread(self, rows: Index) -> tuple[Index, Array]:
        """Rows and longitudes of the panels of some rows, by their numbers in rising order, that all fill.

        In rows of one piece panels stand midway between marches to and fro.
        """
        row, longitude = self.marched
        mine = np.isin(row, rows)
        row, longitude = np.searchsorted(rows, row[mine]), longitude[mine]
        other_row, other = self._mirrored(rows).marched
        counts, others = np.bincount(row, minlength=len(rows)), np.bincount(other_row, minlength=len(rows))
        even = (counts == others) & (np.diff(self._first)[rows] == 1)
        order = np.lexsort((-other, other_row))
        to, fro = even[row], even[other_row[order]]
        longitude[to] = (longitude[to] - other[order][fro]) / 2
        around = self.around[rows]
        full = [np.arange(n) * (2 * math.pi / n) for n in around[around > 0].tolist()]
        row = np.append(row, np.repeat(np.arange(len(rows)), around))
        return rows[row], np.concatenate([longitude, *full])

    def _mirrored(self, rows: Index) -> Rows:
        """Return some of the rows, by their numbers in rising order, with longitudes counted the other way."""
        mine = np.flatnonzero(np.isin(self.pieces.strip, rows))
        mine = mine[np.lexsort((-self.pieces.end[mine], self.pieces.strip[mine]))]
        strip = np.searchsorted(rows, self.pieces.strip[mine])
        pieces = Pieces(strip, -self.pieces.end[mine], -self.pieces.start[mine])
        bands = self.latitude[rows], self.band[rows], self.shown[rows]
        return Rows(self.ring, *bands, pieces, mirrored=True, around=self.around[rows])

    def _all_around(self) -> Index:
        found = np.zeros(len(self.latitude), dtype=np.intp)
        if not len(self.pieces) or self.pieces.end.max() - self.pieces.start.min() < math.pi:
            return found
        used = np.flatnonzero(np.diff(self._first))
        start, end = self.pieces.start[self._first[used]], self.pieces.end[self._first[used + 1] - 1]
        around = np.linspace(0.0, 2 * math.pi, AROUND, endpoint=False)
        latitude, band = self.latitude[used, None], self.band[used, None]
        core = self.ring.reaches(around, latitude, band, band)[0].min(axis=1)
        closed = end - start > 2 * math.pi - 2 * core
        self.fills[used[closed]] = core[closed] >= LEAST_SHARE * steady.arctan(min(self.ring.core))
        core = np.maximum(core, LEAST_SHARE * steady.arctan(min(self.ring.core)))
        found[used[closed]] = np.ceil(math.pi / core[closed])
        return found

    @cached_property
    def marched(self) -> tuple[Index, Array]:
        """Rows and longitudes of panels, each as far on as it can be, by row and then rising."""
        count = np.diff(self._first)
        last = np.full(len(self.latitude), -np.inf)
        core, side = np.zeros_like(last), np.zeros_like(last)
        found: list[tuple[Index, Array]] = []
        for number in range(int(count.max(initial=0))):
            rows = np.flatnonzero((count > number) & self.fills & (self.around == 0))
            rows = rows[self.pieces.end[self._first[rows] + number] > last[rows] + side[rows]]
            start = self.pieces.start[self._first[rows] + number]
            joined = start < last[rows] + core[rows]
            start = np.where(joined, last[rows] + core[rows], start)
            while len(rows):
                last[rows] = self._beyond(rows, start, joined)
                core[rows], side[rows] = self._reaches(rows, last[rows])
                self.fills[rows] &= core[rows] >= LEAST_SHARE * steady.arctan(min(self.ring.core))
                found.append((rows, last[rows]))
                rows = rows[self.fills[rows]]
                rows = rows[last[rows] + side[rows] < self.pieces.end[self._first[rows] + number]]
                start, joined = last[rows] + core[rows], np.ones(len(rows), dtype=bool)
        if not found:
            return np.zeros(0, dtype=np.intp), np.zeros(0)
        row, longitude = (np.concatenate(part) for part in zip(*found, strict=True))
        order = np.lexsort((longitude, row))
        return row[order], longitude[order]

    def _reaches(self, rows: Index, longitude: Array) -> tuple[Array, Array]:
        latitude = self._cos[rows], self._sin[rows]
        return self.ring.reaches_by(self._sign * longitude, latitude, self.band[rows], self.shown[rows])

    def _core_reaches(self, rows: Index, longitude: Array) -> Array:
        latitude = self._cos[rows], self._sin[rows]
        return self.ring.core_reaches_by(self._sign * longitude, latitude, self.band[rows])

    def _beyond(self, rows: Index, start: Array, joined: NDArray[np.bool_]) -> Array:
        """Farthest centres whose half width, of core where joined, of the shape else, reaches back to a start.

        The fixed point of start + reach(centre): three steps and Aitken's acceleration, or more steps where these
        do not close in fast.
        """
        core_alone = bool(joined.all())

        def stepped(center: Array, some: Index | slice = slice(None)) -> Array:
            if core_alone:
                return np.asarray(start[some] + self._core_reaches(rows[some], center))
            core, side = self._reaches(rows[some], center)
            return np.asarray(start[some] + np.where(joined[some], core, side))

        x = stepped(start)
        y = stepped(x)
        z = stepped(y)
        slow = np.abs(z - y) > CLOSING * np.abs(y - x) + 1e-15
        bend = np.where(slow, 1.0, (z - y) - (y - x))
        far = np.where(slow | (np.abs(bend) < 1e-15), z, z - (z - y) ** 2 / np.where(bend, bend, 1.0))
        some = np.flatnonzero(slow)
        for _ in range(SLOW_STEPS if len(some) else 0):
            far[some] = stepped(far[some], some)
        return np.asarray(far - HAIR)

"""Ways to lay sliding rows: every band height and shift, marched at once as longitudes alone.

Of the strip two boxes high that neighbouring rows both show, the seam, each row answers for its half, or whole
seams belong to the row that needs fewer panels for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import separation_rad, steady, vector_to_sky
from planner.mosaic.poles import MARCHED
from planner.mosaic.region import Region

from .parallels import Ring, Rows
from .strips import Outline, Pieces

__all__ = ["Way", "ways"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
MANY, PHASES_OF_MANY = 300, 4
"""From this many panels on fewer shifts are tried: they hardly matter any more."""
BAND_SHARES = (1.0, 0.98, 0.94, 0.88, 0.8, 0.7, 0.58, 0.44, 0.3)
"""Heights of a row's band, in core heights, that are tried where panels stand tilted in their rows."""
MOST_ROWS = 2000
EDGE = math.radians(1e-9)
"""Bands overlap by this much, against rounding."""
FINENESS = 0.25
"""The outline is divided to pieces of at most this part of a panel's short half side."""


class Way:
    """One way to lay rows: a share of the core for their bands, a shift, and who holds the seams.

    Parameters
    ----------
    marched : rows of one band with several phases
    number : int
        Of the phase.
    divided : bool
        Whether each seam belongs to one row.
    rank : int
        How many ways of the same band, kind and count come first: ways that differ most are proven first.
    """

    def __init__(self, marched: _Marched, number: int, divided: bool, rank: int) -> None:
        self._marched, self._number, self.divided, self.rank = marched, number, divided, rank

    def __len__(self) -> int:
        return int(self._marched.counts[int(self.divided), self._number])

    def centers(self) -> Array:
        """ICRS unit vectors (N, 3)."""
        return self._marched.centers(self._number, divided=self.divided)


def ways(region: Region, ring: Ring, phases: int, enough: int) -> Iterator[Way]:
    """Rows with several phases, and with lower bands as long as that needs fewer panels and more than enough.

    Parameters
    ----------
    region : Region
    ring : Ring
    phases : int
        How many shifts of the rows across their direction are tried.
    enough : int
        No lower bands are tried once a way needs as few panels.
    """
    chart = _Chart(region, ring)
    fewest, worse = math.inf, 0
    for share in BAND_SHARES[:1] if ring.aligned else BAND_SHARES:
        shifts = PHASES_OF_MANY if MANY <= fewest < math.inf else phases
        marched = _Marched(chart, share * ring.height, _phases(chart, share * ring.height, shifts))
        found = list(_ways_of(marched))
        count = min(map(len, found), default=math.inf)
        worse = 0 if count < fewest else worse + (fewest < math.inf)
        fewest = min(fewest, count)
        yield from found
        if worse >= 2 or fewest <= enough:
            break


def _ways_of(marched: _Marched) -> Iterator[Way]:
    for divided, counts in enumerate(marched.counts.tolist()):
        for number, count in enumerate(counts):
            if count:
                yield Way(marched, number, bool(divided), counts[:number].count(count))


def _phases(chart: _Chart, band: float, count: int) -> Array:
    """Shifts of the first row in steps of the rows: evenly spaced ones, and those of rows in the region's middle."""
    pitch = 2 * steady.arctan(band)
    over = pitch - 2 * steady.arctan(chart.ring.side * band / chart.ring.height) + chart.top - chart.bottom
    middle = (math.ceil(over / pitch) - over / pitch) / 2 % 0.5
    return np.append(np.arange(count) / count, [middle, middle + 0.5])


class _Chart:
    """The region in longitude and latitude of the rows' system, radians; a pole inside is an edge at 90 degrees."""

    def __init__(self, region: Region, ring: Ring) -> None:
        self.ring = ring
        rims = [self._seen(region, vectors) for vectors in region.ring_vectors]
        around = [rim for rim in rims if _goes_around(rim)]
        if len(around) > 1:  # of a region all around a pole that is not in it, what lies inside is taken in
            rims = around = [self._seen(region, region.outline_vectors)]
        self.pole = 0.0
        """The sign of the latitude of a pole inside the region; 0 without one."""
        if around:
            self.pole = math.copysign(1.0, around[0][:, 1].mean())
        rims = [_closed_over(rim, self.pole) if _goes_around(rim) else rim for rim in rims]
        self.outline = Outline(
            np.concatenate(rims), np.concatenate([np.roll(rim, -1, axis=0) for rim in rims])
        )
        self.top, self.bottom = self.outline.top, self.outline.bottom
        if self.pole:  # one panel stands on it
            reach = math.pi / 2 - steady.arctan(min(ring.core))
            self.top, self.bottom = min(self.top, reach), max(self.bottom, -reach)

    def _seen(self, region: Region, corners: Array) -> Array:
        """Longitudes and latitudes (N, 2) along a closed line, the longitudes without jumps."""
        rim = _finer(corners, FINENESS * min(self.ring.half))
        longitude, latitude = map(np.radians, vector_to_sky(steady.times(rim, self.ring.rotation.T)))
        middle = math.radians(float(vector_to_sky(steady.dot(self.ring.rotation, region.basis[2]))[0]))
        longitude = np.unwrap((longitude - middle + np.pi) % (2 * np.pi) - np.pi + middle)
        return np.stack([longitude, latitude], axis=-1)


def _goes_around(rim: Array) -> bool:
    """Whether a closed line in longitude and latitude runs around a pole."""
    return bool(abs(rim[-1, 0] - rim[0, 0]) > np.pi)


def _closed_over(rim: Array, pole: float) -> Array:
    """A line around a pole, closed along the latitude of that."""
    edge = pole * np.pi / 2
    return np.vstack([rim, [rim[-1, 0], edge], [rim[0, 0], edge]])


def _finer(corners: Array, longest_rad: float) -> Array:
    """Points along a closed outline, its corners among them, no further apart than an angle; closed."""
    following = np.roll(corners, -1, axis=0)
    pieces = np.ceil(separation_rad(corners, following) / longest_rad * (1 - 1e-9)).astype(int)
    pieces = np.maximum(pieces, 1)
    edge = np.repeat(np.arange(len(corners)), pieces)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[edge]
    points = (1 - share)[:, None] * corners[edge] + share[:, None] * following[edge]
    return np.vstack([points, corners[:1]])


class _Marched:
    """Rows of one band with several phases over a chart, and how many panels each phase needs.

    Parameters
    ----------
    chart : _Chart
    band : float
        Half height of the rows' bands.
    phases : ndarray, shape (P,)
        Shifts of the first row, in steps of the rows.
    """

    def __init__(self, chart: _Chart, band: float, phases: Array) -> None:
        self._chart = chart
        self._bands = bands = _bands(chart, band, phases)
        size = len(bands.way)
        self._rows = _rows_of(chart, bands, band)
        row, _ = self._rows.marched
        self._panels = (np.bincount(row, minlength=len(DUTIES) * size) + self._rows.around).reshape(-1, size)
        self._dead = np.bincount(bands.way, ~self._rows.fills.reshape(-1, size).all(axis=0), len(phases)) > 0
        shared = np.bincount(bands.way, self._panels[0], len(phases)).astype(int)
        self._duty, divided = _divided(bands, self._panels)
        extra = int(abs(chart.pole))
        self.counts = np.where(self._dead, 0, [shared + extra, divided + extra])
        """Panels, shape (2, P), with seams shared or each held by one row; 0 where panels are too steep for rows."""

    def centers(self, number: int, *, divided: bool) -> Array:
        """ICRS unit vectors (N, 3) of the panels of one phase."""
        ring, size = self._chart.ring, len(self._bands.way)
        mine = np.flatnonzero(self._bands.way == number)
        row, longitude = self._rows.spread(np.sort(mine + size * self._duty[mine]) if divided else mine)
        latitude = self._rows.latitude[row]
        if self._chart.pole:
            longitude, latitude = np.append(0.0, longitude), np.append(self._chart.pole * np.pi / 2, latitude)
        return ring.centers(longitude, latitude)


@dataclass(frozen=True)
class _Bands:
    """Rows of several phases, top rows first: phase, place from the top, latitude, and the band of each."""

    way: Index
    place: Index
    latitude: Array
    low: Array
    high: Array
    last: NDArray[np.bool_]


DUTIES = ((0.0, 0.0), (-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0))
"""By how many boxes the ground that a row must show reaches above and below its band.

Seams shared: to the band's limits. Seams divided: whole seams, as high as two boxes, belong to one row or the next.
"""


def _rows_of(chart: _Chart, bands: _Bands, band: float) -> Rows:
    """Rows under all duties, the first duty of all rows first."""
    ring = chart.ring
    wide, tall = ring.box
    above, below = (tall * np.array(duty)[:, None] for duty in zip(*DUTIES, strict=True))
    high = np.where(bands.place == 0, bands.high, bands.high + above).ravel()
    low = np.where(bands.last, bands.low, bands.low - below).ravel()
    latitude = np.tile(bands.latitude, len(DUTIES))
    used = low < high
    pieces = chart.outline.pieces(np.where(used, low - EDGE, np.inf), high + EDGE)
    size = len(bands.way)
    used = bands.low < bands.high
    around = chart.outline.pieces(np.where(used, bands.low - tall - EDGE, np.inf), bands.high + tall + EDGE)
    reach = wide / np.maximum(1e-6, steady.cos(latitude[pieces.strip]))
    reach *= np.where(pieces.strip < size, 1.0, 2.0)
    touched = around.holding(pieces.strip % size, pieces.start)
    start = np.maximum(around.start[touched], pieces.start - reach)
    end = np.minimum(around.end[touched], pieces.end + reach)
    shown = np.full(len(latitude), band + tall)
    shown[:size] = band * (max(ring.half) / max(ring.core))
    return Rows(ring, latitude, np.full(len(latitude), band), shown, Pieces(pieces.strip, start, end))


def _divided(bands: _Bands, panels: Index) -> tuple[Index, Index]:
    """The duty of each row, and the panels of each phase, where every seam belongs to one row.

    By dynamic programming from the top row down; the state is whether the last row holds the seam below it.
    """
    order = np.lexsort((bands.place, bands.way))
    first = np.searchsorted(bands.way[order], np.arange(bands.way.max() + 2))
    duty = np.zeros(len(order), dtype=np.intp)
    total = np.zeros(len(first) - 1, dtype=np.intp)
    for way in range(len(total)):
        mine = order[first[way] : first[way + 1]]
        duty[mine], total[way] = _least(panels[1:, mine])
    return duty, total


def _least(panels: Index) -> tuple[list[int], int]:
    """Duties, from 1, of the rows of one phase with the least sum of panels; `panels` has shape (4, rows)."""
    cost, before = [0, 0], []
    for none, below, above, both in panels.T.tolist():
        # states: this row leaves, or holds, the seam below; the last row held, or left, the one above
        leaves = (cost[1] + none, cost[0] + above)
        holds = (cost[1] + below, cost[0] + both)
        before.append((leaves[0] > leaves[1], holds[0] > holds[1]))
        cost = [min(leaves), min(holds)]
    state, duties = int(cost[1] < cost[0]), []
    for choice in reversed(before):
        takes = choice[state]
        duties.append(1 + 2 * takes + state)
        state = 1 - takes
    return duties[::-1], min(cost)


def _bands(chart: _Chart, band: float, phases: Array) -> _Bands:
    """Rows from the top down for each phase, and the limits of the band of latitude that each answers for."""
    ring, top, bottom = chart.ring, chart.top, chart.bottom
    a, edge = max(ring.half), ring.height if chart.pole > 0 else ring.side
    pitch = 2 * steady.arctan(band)
    latitude = top - steady.arctan(edge * band / ring.height) + phases * pitch
    latitude += _sink(np.array(max(abs(top), abs(bottom))), a, edge)
    side = steady.arctan(ring.side * band / ring.height)
    way, high = np.arange(len(phases)), np.full(len(phases), top)
    found = []
    for place in range(MOST_ROWS):
        half = steady.arctan(band) - _sink(np.abs(latitude) + pitch, a, band)
        last = latitude - side + (pitch / 2 - half) <= bottom
        low = np.where(last, bottom, latitude - half)
        found.append((way, np.full(len(way), place), latitude, low, high, last))
        if last.all():
            break
        way, latitude, high = way[~last], (low - half)[~last], low[~last]
    return _Bands(*(np.concatenate(part) for part in zip(*found, strict=True)))


def _sink(latitude: Array, half_width: float, half_height: float) -> Array:
    """How far, in radians of latitude, a panel's side sinks from its middle to its ends; at most half a panel.

    A great circle that is level at latitude phi falls by tan(phi) x^2 / 2 at the distance x.
    """
    phi = np.minimum(latitude, MARCHED)
    return np.asarray(np.minimum(0.55 * steady.tan(phi) * half_width**2 + 1e-9, 0.5 * half_height))

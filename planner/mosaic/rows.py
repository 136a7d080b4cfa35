"""Sliding rows: panels in rows along parallels of a spherical frame, each row shifted and counted on its own.

A row answers for a band of latitude. Where the region lies in that band, panels are marched along it: the first
one reaches the region's rim with its side, each next one as far as its core meets the last one's, until the
region ends. Rows follow the parallels of the frame of the region's centre, or the rings around the pole of the
frame in which the panels stand at a constant angle; panels that stand tilted in their row count with the part of
their core that fills the row's band. Rows of all phases and bands are marched at once, as longitudes alone; the
ways with the fewest panels are laid out and proven. Where the proof finds a gap, smaller cores are marched.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import separation_rad, vector_to_sky

from .demand import Demand
from .orientation import Orientation
from .proof import Cover
from .region import Region
from .ring import Ring, Rows
from .spares import needed
from .strips import Outline, Pieces

__all__ = ["row_frames", "sliding_rows"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
PHASES = 12
"""How many shifts of the rows across their direction are tried."""
MANY, PHASES_OF_MANY = 300, 4
"""From this many panels on fewer shifts are tried: they hardly matter any more."""
BAND_SHARES = (1.0, 0.98, 0.94, 0.88, 0.8, 0.7, 0.58, 0.44, 0.3)
"""Heights of a row's band, in core heights, that are tried where panels stand tilted in their rows."""
SHRINKS = (1.0, 0.998, 0.99, 0.97, 0.93, 0.86, 0.75, 0.6, 0.45)
"""Parts of the cores that are marched, until the proof finds no gap."""
TRIES, TRIES_OF_RINGS = 4, 10
"""Of the ways to lay rows, this many of either kind are proven at each shrink; the more where rings are tried too."""
NEAR_POLE_DEG = 80.0
SQUARE_WITHIN_DEG = 10.0
MOST_ROWS = 2000
EDGE = math.radians(1e-9)
"""Bands overlap by this much, against rounding."""
STEEPEST = math.radians(88.0)
FINENESS = 0.25
"""The outline is divided to pieces of at most this part of a panel's short half side."""


def row_frames(region: Region, orientation: Orientation) -> list[Orientation]:
    """Frames whose parallels rows of such panels may follow.

    The frame of the region's centre with the panels' up as its north, and, for a camera that nobody turns, the
    rings around its own pole where the panels stand nearly square in them or the pole is near.
    """
    angle = float(orientation.position_angles_deg(region.frame[2]))
    own = Orientation.square_with(*region.center_deg, angle)
    if not orientation.is_common:
        return [orientation.turned_to(0.0)]
    ring = orientation.turned_to(0.0)
    tilt = (orientation.angle_deg + 45.0) % 90.0 - 45.0
    farthest = math.asin(abs(float(region.frame[2, 2]))) + region.radius_rad
    near_pole = farthest > math.radians(NEAR_POLE_DEG)
    return [own, ring] if near_pole or abs(tilt) < SQUARE_WITHIN_DEG else [own]


def sliding_rows(
    region: Region, orientation: Orientation, demands: Sequence[Demand], *, enough: int = 0
) -> Iterator[Array]:
    """Centres of panels in sliding rows that meet all demands, none of them a spare: a few ways to lay rows.

    Parameters
    ----------
    region : Region
    orientation : Orientation
        Of the panels.
    demands : sequence of Demand
        Proven for every result.
    enough : int
        Ways with so few panels, if any is proven, save the trial of others.

    Yields
    ------
    ndarray, shape (N, 3)
        Unit vectors; those first that seem to need the fewest. Nothing comes where no core is left.
    """
    cores = np.array([demand.core for demand in demands])
    if cores.min() <= 0:
        return
    a, b = cores.min(axis=0) - 1e-9
    frames, found = row_frames(region, orientation), False
    for shrink, goal in [(SHRINKS[0], enough)] * (enough > 0) + [(shrink, 0) for shrink in SHRINKS]:
        rings = [
            Ring(frame, orientation, (a * shrink, b * shrink), _smallest_half_size(demands))
            for frame in frames
        ]
        ways = sorted((way for ring in rings for way in _ways(region, ring, goal)), key=len)
        for centers in _promising(ways, TRIES if len(frames) == 1 else TRIES_OF_RINGS):
            cover = Cover(region, orientation.frames(centers))
            if not cover.first_gap(demands):
                found = True
                yield centers[needed(cover, demands)]
        if found:
            return


def _promising(ways: Sequence[_Way], most: int) -> Iterator[Array]:
    """Centres of the ways that are worth a proof, the fewest panels first: so many of either kind."""
    tried = {False: 0, True: 0}
    for way in ways:
        if tried[way.divided] < most:
            tried[way.divided] += 1
            yield way.centers()


def _smallest_half_size(demands: Sequence[Demand]) -> tuple[float, float]:
    return min(d.half_size[0] for d in demands), min(d.half_size[1] for d in demands)


class _Way:
    """One way to lay rows: a share of the core for their bands, a shift, and who holds the seams."""

    def __init__(self, marched: _Marched, number: int, divided: bool) -> None:
        self._marched, self._number, self.divided = marched, number, divided

    def __len__(self) -> int:
        return int(self._marched.counts[int(self.divided), self._number])

    def centers(self) -> Array:
        """ICRS unit vectors (N, 3)."""
        return self._marched.centers(self._number, divided=self.divided)


def _ways(region: Region, ring: Ring, enough: int) -> Iterator[_Way]:
    """Rows with every phase, and with lower bands as long as that needs fewer panels and more than enough."""
    chart = _Chart(region, ring)
    fewest, worse, phases = math.inf, 0, PHASES
    for share in BAND_SHARES[:1] if ring.aligned else BAND_SHARES:
        marched = _Marched(chart, share * ring.height, _phases(chart, share * ring.height, phases))
        found = [_Way(marched, n, bool(divided)) for divided, n in np.argwhere(marched.counts)]
        count = min(map(len, found), default=math.inf)
        worse = 0 if count < fewest else worse + (fewest < math.inf)
        fewest = min(fewest, count)
        phases = PHASES if fewest < MANY else PHASES_OF_MANY
        yield from found
        if worse >= 2 or fewest <= enough:
            break


def _phases(chart: _Chart, band: float, count: int) -> Array:
    """Shifts of the first row in steps of the rows: evenly spaced ones, and those of rows in the region's middle."""
    pitch = 2 * math.atan(band)
    over = pitch - 2 * math.atan(chart.ring.side * band / chart.ring.height) + chart.top - chart.bottom
    middle = (math.ceil(over / pitch) - over / pitch) / 2 % 0.5
    return np.append(np.arange(count) / count, [middle, middle + 0.5])


class _Chart:
    """The region in longitude and latitude of the rows' frame, radians; a pole inside is an edge at 90 degrees."""

    def __init__(self, region: Region, ring: Ring) -> None:
        self.ring = ring
        rim = _finer(region.outline_vectors, FINENESS * min(ring.half))
        longitude, latitude = map(np.radians, vector_to_sky(rim @ ring.rotation.T))
        middle = math.radians(float(vector_to_sky(ring.rotation @ region.frame[2])[0]))
        longitude = np.unwrap((longitude - middle + np.pi) % (2 * np.pi) - np.pi + middle)
        corners = np.stack([longitude, latitude], axis=-1)
        self.pole = 0.0
        """The sign of the latitude of a pole inside the region; 0 without one."""
        if abs(longitude[-1] - longitude[0]) > np.pi:
            self.pole = math.copysign(1.0, latitude.mean())
            edge = self.pole * np.pi / 2
            corners = np.vstack([corners, [longitude[-1], edge], [longitude[0], edge]])
        self.outline = Outline(corners)
        self.top, self.bottom = self.outline.top, self.outline.bottom
        if self.pole:  # one panel stands on it
            reach = math.pi / 2 - math.atan(min(ring.core))
            self.top, self.bottom = min(self.top, reach), max(self.bottom, -reach)


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
        row, _ = self._rows.march()
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
        rows = self._rows.only(np.sort(mine + size * self._duty[mine]) if divided else mine)
        row, longitude = rows.spread()
        latitude = rows.latitude[row]
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
    reach = wide / np.maximum(1e-6, np.cos(latitude[pieces.strip]))
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
    pitch = 2 * math.atan(band)
    latitude = top - math.atan(edge * band / ring.height) + phases * pitch
    latitude += _sink(np.array(max(abs(top), abs(bottom))), a, edge)
    side = math.atan(ring.side * band / ring.height)
    way, high = np.arange(len(phases)), np.full(len(phases), top)
    found = []
    for place in range(MOST_ROWS):
        half = math.atan(band) - _sink(np.abs(latitude) + pitch, a, band)
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
    phi = np.minimum(latitude, STEEPEST)
    return np.asarray(np.minimum(0.55 * np.tan(phi) * half_width**2 + 1e-9, 0.5 * half_height))

"""Sliding rows: panels in rows along parallels of a spherical frame, each row shifted and counted on its own.

A row answers for a band of latitude. Where the region lies in that band, panels are marched along it: the first
one reaches the region's rim with its side, each next one as far as its core meets the last one's, until the
region ends. Rows follow the parallels of the frame of the region's centre, or the rings around the pole of the
frame in which the panels stand at a constant angle; panels that stand tilted in their row count with the part of
their core that fills the row's band. The proof has the last word: where it finds a gap, smaller cores are marched.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import separation_rad, vector_to_sky

from .demand import Demand
from .orientation import Orientation
from .proof import find_gap
from .region import Region
from .ring import Ring, Row

__all__ = ["row_frames", "sliding_rows"]

PHASES = 12
"""How many shifts of the rows across their direction are tried."""
MANY, PHASES_OF_MANY = 300, 4
"""From this many panels on fewer shifts are tried: they hardly matter any more."""
BAND_SHARES = (1.0, 0.98, 0.94, 0.88, 0.8, 0.7, 0.58, 0.44, 0.3)
"""Heights of a row's band, in core heights, that are tried where panels stand tilted in their rows."""
SHRINKS = (1.0, 0.998, 0.99, 0.97, 0.93, 0.86, 0.75, 0.6, 0.45)
"""Parts of the cores that are marched, until the proof finds no gap."""
TRIES = 4
"""Of all ways to lay rows, this many are proven at each shrink, the fewest panels first."""
NEAR_POLE_DEG = 80.0
SQUARE_WITHIN_DEG = 10.0
LEAST_SHARE = 0.2
"""Rows whose tilted panels keep less of their core than this are not worth their panels."""
MOST_ROWS = 2000


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
    region: Region, orientation: Orientation, demands: Sequence[Demand]
) -> NDArray[np.float64] | None:
    """Centres of panels in sliding rows that meet all demands, as unit vectors of shape (N, 3).

    Parameters
    ----------
    region : Region
    orientation : Orientation
        Of the panels.
    demands : sequence of Demand
        Proven for the result.

    Returns
    -------
    ndarray, shape (N, 3), or None
        None where panels cannot give what is demanded (no core is left).
    """
    cores = np.array([demand.core for demand in demands])
    half, box = _smallest_half_size(demands), _largest_box(demands)
    if cores.min() <= 0:
        return None
    a, b = cores.min(axis=0) - 1e-9
    for shrink in SHRINKS:
        rings = [
            Ring(frame, orientation, (a * shrink, b * shrink), half, box)
            for frame in row_frames(region, orientation)
        ]
        ways = sorted((way for ring in rings for way in _ways(region, ring)), key=len)
        for centers in ways[:TRIES]:
            if not find_gap(region, orientation.frames(centers), demands):
                return centers
    return None


def _smallest_half_size(demands: Sequence[Demand]) -> tuple[float, float]:
    return min(d.half_size[0] for d in demands), min(d.half_size[1] for d in demands)


def _largest_box(demands: Sequence[Demand]) -> tuple[float, float]:
    return max(d.box[0] for d in demands), max(d.box[1] for d in demands)


def _ways(region: Region, ring: Ring) -> list[NDArray[np.float64]]:
    """Rows with every phase, and with lower bands as long as that needs fewer panels."""
    chart = _chart(region, ring)
    shares = BAND_SHARES[:1] if ring.aligned else BAND_SHARES
    ways: list[NDArray[np.float64]] = []
    fewest, worse = math.inf, 0
    for share in shares:
        first = _march_rows(chart, ring, share * ring.height, 0.0)
        phases = PHASES if first is None or len(first) < MANY else PHASES_OF_MANY
        rows = [_march_rows(chart, ring, share * ring.height, k / phases) for k in range(1, phases)]
        rows.insert(0, first)
        found = [centers for centers in rows if centers is not None and len(centers)]
        count = min(map(len, found), default=math.inf)
        worse = 0 if count < fewest else worse + bool(ways)
        fewest = min(fewest, count)
        ways += found
        if worse >= 2:
            break
    return ways


def _chart(region: Region, ring: Ring) -> shapely.Geometry:
    """The region in longitude and latitude of the rows' frame, degrees; a pole inside is an edge at 90."""
    rim = _finer(region.outline_vectors, 0.25 * min(ring.half))
    longitude, latitude = vector_to_sky(rim @ ring.rotation.T)
    middle = vector_to_sky(ring.rotation @ region.frame[2])[0]
    longitude = np.unwrap((longitude - middle + 180.0) % 360.0 - 180.0 + middle, period=360.0)
    corners = np.stack([longitude, latitude], axis=-1)
    winding = longitude[-1] - longitude[0]
    if abs(winding) > 180.0:
        pole = 90.0 if latitude.mean() > 0 else -90.0
        corners = np.vstack([corners, [longitude[-1], pole], [longitude[0], pole]])
    return shapely.Polygon(corners).buffer(0)


def _finer(corners: NDArray[np.float64], longest_rad: float) -> NDArray[np.float64]:
    """Points along a closed outline, its corners among them, no further apart than an angle; closed."""
    following = np.roll(corners, -1, axis=0)
    pieces = np.ceil(separation_rad(corners, following) / longest_rad * (1 - 1e-9)).astype(int)
    pieces = np.maximum(pieces, 1)
    edge = np.repeat(np.arange(len(corners)), pieces)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[edge]
    points = (1 - share)[:, None] * corners[edge] + share[:, None] * following[edge]
    return np.vstack([points, corners[:1]])


def _march_rows(
    chart: shapely.Geometry, ring: Ring, band: float, phase: float
) -> NDArray[np.float64] | None:
    """Centres of rows of a band's half height, the first shifted by a phase; None if a row cannot be filled."""
    _, bottom, _, top = chart.bounds
    found: list[NDArray[np.float64]] = []
    caps = [math.copysign(90.0, value) for value in (top, bottom) if abs(value) > 90.0 - 1e-9]
    reach = math.degrees(math.atan(min(ring.core)))
    if caps:
        found.append(ring.centers(np.zeros(1), caps[0]))
        top, bottom = min(top, 90.0 - reach), max(bottom, reach - 90.0)
    for latitude, low, high in _bands(ring, band, top, bottom, phase, capped=caps[:1] == [90.0]):
        row = _march(chart, ring, latitude, low, high, band)
        if row is None:
            return None
        found.append(row)
    return np.concatenate(found) if found else None


def _bands(
    ring: Ring, band: float, top: float, bottom: float, phase: float, *, capped: bool
) -> Iterator[tuple[float, float, float]]:
    """Latitude of each row and the limits of the band that it answers for, from the top down, degrees."""
    a = max(ring.half)
    edge = ring.height if capped else ring.side
    reach = math.degrees(math.atan(edge * band / ring.height) - _sink(max(abs(top), abs(bottom)), a, edge))
    pitch = 2 * math.degrees(math.atan(band))
    latitude, high = top - reach + phase * pitch, top
    for _ in range(MOST_ROWS):
        half = math.degrees(math.atan(band) - _sink(abs(latitude) + pitch, a, band))
        last = (
            latitude - math.degrees(math.atan(ring.side * band / ring.height)) + (pitch / 2 - half) <= bottom
        )
        low = bottom if last else latitude - half
        yield latitude, low, high
        if last:
            return
        high = low
        latitude = low - half


def _sink(latitude_deg: float, half_width: float, half_height: float) -> float:
    """How far, in radians of latitude, a panel's side sinks from its middle to its ends; at most half a panel.

    A great circle that is level at latitude phi falls by tan(phi) x^2 / 2 at the distance x.
    """
    phi = math.radians(min(latitude_deg, 88.0))
    return min(0.55 * math.tan(phi) * half_width**2 + 1e-9, 0.5 * half_height)


def _march(
    chart: shapely.Geometry, ring: Ring, latitude: float, low: float, high: float, band: float
) -> NDArray[np.float64] | None:
    """Centres along one row over the region's parts in its band; None if the panels' tilt leaves no core."""
    bounds = _extents(chart, ring, latitude, low, high)
    if not len(bounds):
        return np.zeros((0, 3))
    nodes = np.linspace(bounds[:, 0].min() - 30.0, bounds[:, 1].max() + 30.0, 241)
    core, side = ring.reaches(nodes, latitude, band)
    if core.min() < LEAST_SHARE * math.degrees(min(ring.core)):
        return None
    table = Row(nodes, core, side)
    if bounds[:, 1].max() - bounds[:, 0].min() > 360.0 - 2 * core.min():
        count = math.ceil(360.0 / (2 * core.min()))
        return ring.centers(np.arange(count) * 360.0 / count, latitude)
    right = table.march(bounds)
    left = -table.mirrored().march(-bounds[::-1, ::-1])[::-1]
    longitude = (right + left) / 2 if len(right) == len(left) and len(bounds) == 1 else right
    return ring.centers(longitude, latitude)


def _extents(
    chart: shapely.Geometry, ring: Ring, latitude: float, low: float, high: float
) -> NDArray[np.float64]:
    """Longitudes, shape (N, 2), over which each part of the region in a row's band must be held.

    The boxes around points of the band reach into the bands beside it, where the region may go on further.
    """
    wide, tall = np.degrees(ring.box[::-1] if ring.turned else ring.box)
    parts = _parts(chart, low, high) if low < high else ()
    if not len(parts):
        return np.zeros((0, 2))
    around = _parts(chart, low - tall, high + tall)
    shapely.prepare(around)
    found = []
    for west, _, east, _ in shapely.bounds(parts):
        touched = shapely.bounds(around[shapely.intersects(around, shapely.box(west, low, east, high))])
        reach = wide / max(1e-6, math.cos(math.radians(latitude)))
        found.append((max(touched[:, 0].min(), west - reach), min(touched[:, 2].max(), east + reach)))
    return np.array(sorted(found))


def _parts(chart: shapely.Geometry, low: float, high: float) -> NDArray[np.object_]:
    """Parts of the region between two latitudes."""
    west, _, east, _ = chart.bounds
    parts = shapely.get_parts(
        shapely.intersection(chart, shapely.box(west - 1, low - 1e-9, east + 1, high + 1e-9))
    )
    return np.asarray(parts[(shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)])



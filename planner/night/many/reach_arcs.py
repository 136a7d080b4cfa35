"""In which hour angles places of a declination stand above a site's limits: arcs, found once for many nights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.night.horizon import highest_limit_deg, limit_deg
from planner.night.settings import Site

__all__ = ["ReachArcs", "above_limits", "exactly_above", "in_reach_of", "reach_arcs"]

Array = NDArray[np.float64]
COUNT = 1440
"""Hour angles looked at: a quarter of a degree apart, a minute of sidereal time."""
DELICATE = 5e-3
"""Where a curve turns or bends so near to the limit (sine of altitude), a small change of declination opens or
closes an arc."""
NEAR = 0.01


@dataclass(frozen=True, eq=False)
class ReachArcs:
    """Arcs of hour angle above the limits.

    Parameters
    ----------
    row : ndarray of int, shape (A,)
        Which place each arc belongs to, rising.
    arc_rad : ndarray, shape (A, 2)
        From (in [-pi, pi)) and to, to about a minute; an arc of a place that never sets is (-inf, inf).
    delicate : ndarray of bool, shape (N,)
        Places of which arcs may open or close with a small change of declination.
    """

    row: NDArray[np.intp]
    arc_rad: Array
    delicate: NDArray[np.bool_]


def reach_arcs(site: Site, dec_rad: Array) -> ReachArcs:
    """Find the arcs of hour angle in which places stand above the lowest altitude and the horizon.

    Parameters
    ----------
    site : Site
    dec_rad : ndarray, shape (N,)
        Declinations of date.
    """
    hour_angle = -np.pi + 2 * np.pi * np.arange(COUNT) / COUNT
    margin = above_limits(site, dec_rad[:, None], hour_angle[None])
    above = margin >= 0.0
    rises, sets = _crossings(margin, above, up=True), _crossings(margin, above, up=False)
    row, arc = _paired(rises, sets)
    always = np.flatnonzero(above.all(axis=1))
    row = np.concatenate([row, always])
    arc = np.concatenate([arc, np.tile([-np.inf, np.inf], (len(always), 1))])
    order = np.argsort(row, kind="stable")
    return ReachArcs(row[order], arc[order], _delicate(margin))


def in_reach_of(arcs: ReachArcs) -> NDArray[np.bool_]:
    """Which places have arcs, or could have some with a small change of declination, shape (N,)."""
    found = arcs.delicate.copy()
    found[arcs.row] = True
    return found


def above_limits(site: Site, dec_rad: Array, hour_angle_rad: Array) -> Array:
    """Sine of the altitude less the sine of the limit in that direction.

    Far from the limits less exactly: 0.01 or more below the lowest altitude, or higher than any limit, it is what
    the lowest altitude alone gives.

    Parameters
    ----------
    dec_rad, hour_angle_rad : ndarray
        Of date, broadcast against each other; hour angles west positive.
    """
    latitude = np.radians(site.latitude_deg)
    slow, fast = np.sin(latitude), np.cos(latitude)
    cos_h = np.cos(hour_angle_rad)
    sine = slow * np.sin(dec_rad) + fast * np.cos(dec_rad) * cos_h
    margin = np.asarray(sine - np.sin(np.radians(site.lowest_altitude_deg)))
    if site.horizon_deg:
        near = (margin >= -NEAR) & (sine < np.sin(np.radians(highest_limit_deg(site))))
        dec, hour_angle = (np.broadcast_to(one, sine.shape)[near] for one in (dec_rad, hour_angle_rad))
        margin[near] = exactly_above(site, dec, hour_angle)
    return margin


def exactly_above(site: Site, dec_rad: Array, hour_angle_rad: Array) -> Array:
    """Sine of the altitude less the sine of the limit in that direction, everywhere."""
    latitude = np.radians(site.latitude_deg)
    slow, fast = np.sin(latitude), np.cos(latitude)
    sin_d, cos_d, cos_h = np.sin(dec_rad), np.cos(dec_rad), np.cos(hour_angle_rad)
    sine = slow * sin_d + fast * cos_d * cos_h
    if not site.horizon_deg:
        return np.asarray(sine - np.sin(np.radians(site.lowest_altitude_deg)))
    east, north = -cos_d * np.sin(hour_angle_rad), fast * sin_d - slow * cos_d * cos_h
    limit = limit_deg(site, np.degrees(np.arctan2(east, north)))
    return np.asarray(sine - np.sin(np.radians(limit)))


def _crossings(margin: Array, above: NDArray[np.bool_], *, up: bool) -> tuple[NDArray[np.intp], Array]:
    """Rows and hour angles where curves rise above, or fall below, the limit."""
    beyond = np.roll(above, -1, axis=1)
    row, place = np.nonzero(~above & beyond if up else above & ~beyond)
    first, second = margin[row, place], margin[row, (place + 1) % COUNT]
    share = first / (first - second)
    return row, -np.pi + 2 * np.pi * (place + share) / COUNT


def _paired(
    rises: tuple[NDArray[np.intp], Array], sets: tuple[NDArray[np.intp], Array]
) -> tuple[NDArray[np.intp], Array]:
    """Each rise with the set that follows it, round the circle where need be."""
    (row, rise), (same, down) = rises, sets
    if not len(row):
        return row, np.empty((0, 2))
    first = np.full(int(row.max()) + 1, np.inf)
    np.minimum.at(first, row, rise)
    down = np.where(down < first[same], down + 2 * np.pi, down)
    order = np.lexsort((down, same))
    return row, np.stack([rise, down[order]], axis=1)


def _delicate(margin: Array) -> NDArray[np.bool_]:
    before, after = np.roll(margin, 1, axis=1), np.roll(margin, -1, axis=1)
    turns = (margin - before) * (after - margin) <= 0.0
    return np.asarray((turns & (np.abs(margin) < DELICATE)).any(axis=1))

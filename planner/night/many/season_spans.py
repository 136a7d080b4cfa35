"""Spans of time of many places, in arrays: windows in the dark, nearness of Moon and Sun, whole seconds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.night.almanac import Almanac
from planner.night.clock import earth_rotation_rad
from planner.night.evening import STEP_S, Evening, moon_vector_km, steps
from planner.night.observer import SIDEREAL_RAD_S, TURN_S, Observer
from planner.night.segments import SUN_LIMIT_DEG
from planner.night.settings import Site
from planner.night.spans import Span, chord, second_chord, spans_where

from .reach_arcs import ReachArcs, above_limits, exactly_above

__all__ = ["Spans", "dark_windows", "lengths_cut", "near_moon_spans", "near_sun", "transits"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
SHIFTS = (0, 1, -1, 2, -2, 3, -3)
"""An edge is sought so many minutes beside where it should be."""
MOON_STEP_S = 3600.0
MOON_MOVES_RAD = np.radians(0.8)
"""As seen from a site the Moon moves less than that in half an hour."""


@dataclass(frozen=True, eq=False)
class Spans:
    """Spans of places: rows of places and (from, to), POSIX seconds.

    Parameters
    ----------
    row : ndarray of int, shape (S,)
    start, end : ndarray, shape (S,)
    """

    row: Index
    start: Array
    end: Array

    @classmethod
    def joined(cls, parts: Sequence[Spans]) -> Spans:
        """Spans of several lists."""
        if not parts:
            return cls(np.empty(0, dtype=np.intp), np.empty(0), np.empty(0))
        return cls(
            *(np.concatenate([getattr(one, name) for one in parts]) for name in ("row", "start", "end"))
        )

    @classmethod
    def same(cls, rows: Index, span: Span) -> Spans:
        """One span for many places."""
        return cls(rows, np.full(len(rows), span[0]), np.full(len(rows), span[1]))

    def at(self, which: NDArray[np.bool_] | Index) -> Spans:
        """Return some of the spans."""
        return Spans(self.row[which], self.start[which], self.end[which])

    def within(self, span: Span) -> Spans:
        """Parts that lie in one span."""
        found = Spans(self.row, np.maximum(self.start, span[0]), np.minimum(self.end, span[1]))
        return found.at(found.start < found.end)

    def without(self, others: Spans) -> Spans:
        """Spans less those of the same places in others, of which each place may have several."""
        left = self
        while len(others.row):
            rows, first = np.unique(others.row, return_index=True)
            left = left._without_one(others.at(first), rows)
            rest = np.ones(len(others.row), dtype=bool)
            rest[first] = False
            others = others.at(rest)
        return left

    def _without_one(self, others: Spans, rows: Index) -> Spans:
        """Spans less one span for each place, whose places rise."""
        place = np.minimum(np.searchsorted(rows, self.row), len(rows) - 1)
        hit = rows[place] == self.row
        low = np.where(hit, others.start[place], np.inf)
        high = np.where(hit, others.end[place], np.inf)
        before = Spans(self.row, self.start, np.minimum(self.end, low))
        after = Spans(self.row, np.maximum(self.start, high), self.end)
        both = Spans.joined([before, after])
        return both.at(both.start < both.end)

    def seconds(self, count: int) -> NDArray[np.int64]:
        """Length of all spans of each of so many places, whole seconds."""
        return np.bincount(self.row, weights=self.end - self.start, minlength=count).astype(np.int64)


def dark_windows(
    vectors: Array,
    span_s: Span,
    site: Site,
    observer: Observer,
    almanac: Almanac,
    axes: Array,
    arcs: ReachArcs,
) -> Spans:
    """Windows of all places within one dark span, rounded inwards to whole seconds.

    Parameters
    ----------
    vectors : ndarray, shape (N, 3)
        Unit vectors, ICRS.
    span_s : (float, float)
    arcs : ReachArcs
        Of the same places in the same season.
    """
    time = steps(span_s)
    sky = _Sky.of(vectors, time, observer, almanac, axes)
    rough = _rough(sky, span_s, arcs)
    firm = rough.at(~arcs.delicate[rough.row])
    begins, ok_first = _edges(sky, site, firm.row, firm.start, rises=True)
    ends, ok_last = _edges(sky, site, firm.row, firm.end, rises=False)
    unsure = np.unique(firm.row[~(ok_first & ok_last)])
    sure = ~np.isin(firm.row, unsure)
    rows = np.union1d(unsure, np.flatnonzero(arcs.delicate))
    found = Spans.joined([Spans(firm.row, begins, ends).at(sure), _looked_at(sky, site, rows)])
    whole = Spans(found.row, np.ceil(found.start), np.floor(found.end))
    return whole.at(whole.start < whole.end)


@dataclass(frozen=True, eq=False)
class _Sky:
    """Places in one dark span: declinations and right ascensions of date, and the samples of the span.

    Parameters
    ----------
    dec_rad, ra_rad : ndarray, shape (N,)
    time_s : ndarray, shape (T,)
        Instants of the samples.
    turned_rad : ndarray, shape (T,)
        Sidereal angle of the site's meridian then.
    longitude_rad : float
    """

    dec_rad: Array
    ra_rad: Array
    time_s: Array
    turned_rad: Array
    longitude_rad: float

    @classmethod
    def of(cls, vectors: Array, time_s: Array, observer: Observer, almanac: Almanac, axes: Array) -> _Sky:
        stars = almanac.apparent(vectors, (time_s[0] + time_s[-1]) / 2.0) @ axes.T
        dec = np.arctan2(stars[:, 2], np.hypot(stars[:, 0], stars[:, 1]))
        ra = np.arctan2(stars[:, 1], stars[:, 0])
        turned = earth_rotation_rad(time_s) + observer.longitude_rad
        return cls(dec, ra, time_s, turned, observer.longitude_rad)

    def hour_angle(self, rows: Index, time_s: Array) -> Array:
        """Hour angles of places at their instants, any turn."""
        return np.asarray(earth_rotation_rad(time_s) + self.longitude_rad - self.ra_rad[rows])

    def margins(self, site: Site, rows: Index, sample: NDArray[np.int64]) -> Array:
        """How far places stand above the limits at their samples; see `above_limits`."""
        return above_limits(site, self.dec_rad[rows], self.turned_rad[sample] - self.ra_rad[rows])


def _rough(sky: _Sky, span_s: Span, arcs: ReachArcs) -> Spans:
    """Arcs as times within the span, to about a minute."""
    middle = (span_s[0] + span_s[1]) / 2.0
    angle = (sky.hour_angle(arcs.row, np.full(len(arcs.row), middle)) + np.pi) % (2 * np.pi) - np.pi
    start, end = (middle + (edge - angle) / SIDEREAL_RAD_S for edge in arcs.arc_rad.T)
    turns = [
        Spans(arcs.row, start + turn * TURN_S, end + turn * TURN_S).within(span_s) for turn in (-1, 0, 1)
    ]
    always = np.isinf(arcs.arc_rad[:, 0])
    turns = [one.at(np.isin(one.row, arcs.row[always], invert=True)) for one in turns]
    return Spans.joined([*turns, Spans.same(arcs.row[always], span_s)])


def _edges(
    sky: _Sky, site: Site, row: Index, rough: Array, *, rises: bool
) -> tuple[Array, NDArray[np.bool_]]:
    """Edges of windows: on the chord between the samples on either side, improved by a second chord.

    Returns
    -------
    edges : ndarray, shape (S,)
    found : ndarray of bool, shape (S,)
        Whether samples on either side lie inside and outside, as they should.
    """
    time = sky.time_s
    end = 0 if rises else len(time) - 1
    at_end = rough <= time[0] if rises else rough >= time[-1]
    inner = np.clip(np.ceil((rough - time[0]) / STEP_S).astype(int), 1, len(time) - 1)
    edges, found = np.where(at_end, time[end], np.nan), np.zeros(len(row), dtype=bool)
    which = np.flatnonzero(at_end)
    found[which] = sky.margins(site, row[which], np.full(len(which), end)) >= 0.0
    open_ = np.flatnonzero(~at_end)
    for shift in SHIFTS:
        after = np.clip(inner[open_] + shift, 1, len(time) - 1)
        m0, m1 = (sky.margins(site, row[open_], sample) for sample in (after - 1, after))
        right = (m0 < 0.0) & (m1 >= 0.0) if rises else (m0 >= 0.0) & (m1 < 0.0)
        here, after = open_[right], after[right]
        edges[here] = _second_chord(sky, site, row[here], time[after - 1], time[after], m0[right], m1[right])
        found[here] = True
        open_ = open_[~right]
        if not len(open_):
            break
    return edges, found


def _second_chord(sky: _Sky, site: Site, row: Index, t0: Array, t1: Array, m0: Array, m1: Array) -> Array:
    found = chord(t0, t1, m0, m1)
    m = exactly_above(site, sky.dec_rad[row], sky.hour_angle(row, found))
    return second_chord(t0, t1, m0, m1, found, m)


def _looked_at(sky: _Sky, site: Site, rows: Index) -> Spans:
    """Windows of a few places, looked at minute by minute."""
    if not len(rows):
        return Spans.joined([])
    margin = sky.margins(site, rows[:, None], np.arange(len(sky.time_s))[None])

    def exact(which: Index, at_s: Array) -> Array:
        return exactly_above(site, sky.dec_rad[rows[which]], sky.hour_angle(rows[which], at_s))

    which, spans = spans_where(margin, sky.time_s, exact)
    return Spans(rows[which], spans[:, 0], spans[:, 1])


def near_sun(vectors: Array, span_s: Span, almanac: Almanac) -> Spans:
    """Places too near to the Sun in a dark span: all of the span."""
    middle = (span_s[0] + span_s[1]) / 2.0
    sun = almanac.sun_km(middle)
    cosine = almanac.apparent(vectors, middle) @ (sun / np.linalg.norm(sun))
    rows = np.flatnonzero(cosine > np.cos(np.radians(SUN_LIMIT_DEG)))
    return Spans.same(rows, (steps(span_s)[0] - 1.0, steps(span_s)[-1] + 1.0))


def near_moon_spans(
    vectors: Array,
    rows: Index,
    span_s: Span,
    observer: Observer,
    almanac: Almanac,
    axes: Array,
    separation_deg: float,
) -> Spans:
    """When some places are nearer to the Moon than allowed, in a dark span (a second is added at both ends)."""
    time = steps(span_s)
    stars = almanac.apparent(vectors[rows], (span_s[0] + span_s[1]) / 2.0)
    limit = np.radians(separation_deg)
    coarse = np.append(np.arange(span_s[0], span_s[1], MOON_STEP_S), span_s[1])
    angle = np.arccos(np.clip(stars @ _moon(coarse, observer, almanac, axes).T, -1.0, 1.0))
    all_near = (angle < limit - MOON_MOVES_RAD).all(axis=1)
    unsure = ~all_near & (angle < limit + MOON_MOVES_RAD).any(axis=1)
    margin = stars[unsure] @ _moon(time, observer, almanac, axes).T - np.cos(limit)
    which, spans = spans_where(margin, time)
    some = Spans(rows[unsure][which], spans[:, 0] - 1.0, spans[:, 1] + 1.0)
    return Spans.joined([Spans.same(rows[all_near], (time[0] - 1.0, time[-1] + 1.0)), some])


def _moon(time: Array, observer: Observer, almanac: Almanac, axes: Array) -> Array:
    moon = moon_vector_km(time, observer, almanac, axes)
    return np.asarray(moon / np.linalg.norm(moon, axis=-1, keepdims=True))


def transits(vectors: Array, evening: Evening, observer: Observer, almanac: Almanac) -> Array:
    """Upper transits nearest to the middle of the dark time, POSIX seconds, shape (N,)."""
    stars = almanac.apparent(vectors, evening.middle_s)
    angle = observer.hour_angle_rad(stars, np.asarray(evening.middle_s), evening.axes)
    return np.asarray(evening.middle_s - angle / SIDEREAL_RAD_S)


def lengths_cut(spans: Spans, transit_s: Array, flip_after_s: float | None, count: int) -> NDArray[np.int64]:
    """Whole seconds of each place's spans, cut where the mount flips; each piece is rounded inwards.

    Parameters
    ----------
    spans : Spans
        None longer than two turns of the Earth.
    transit_s : ndarray, shape (N,)
        An upper transit of every place.
    flip_after_s : float or None
        How long after the transit the mount flips; None: it never flips.
    count : int
        How many places there are.
    """
    edges = [spans.start, spans.end]
    if flip_after_s is not None:
        for late in (flip_after_s, TURN_S / 2.0):
            cut = transit_s[spans.row] + late
            cut = cut + TURN_S * (np.floor((spans.start - cut) / TURN_S) + 1.0)
            edges += [np.minimum(cut, spans.end), np.minimum(cut + TURN_S, spans.end)]
    rising = np.sort(np.stack(edges, axis=1), axis=1)
    pieces = np.maximum(np.floor(rising[:, 1:]) - np.ceil(rising[:, :-1]), 0.0).sum(axis=1)
    return np.bincount(spans.row, weights=pieces, minlength=count).astype(np.int64)

"""Filling one night: blocks in a row, chosen so that the work left over shrinks most.

A search forward in time with several partial nights kept side by side (a beam): from each it tries the most
rewarding next blocks of every filter, at full length and cut short where other work opens. The reward of a
block is the weighted fall of the work that is left, less the price of its time.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .workload import Opening, Workload

__all__ = ["TRANSIT_SCALE_S", "Width", "NightTask", "Placed", "fill_night"]

TRANSIT_SCALE_S = 10800.0
Values = NDArray[np.float64]


@dataclass(frozen=True)
class Width:
    """How wide the search is.

    Parameters
    ----------
    bucket_s : float
        Partial nights that end within one bucket compete.
    kept : int
        Partial nights kept in a bucket.
    tried : int
        Next blocks tried of each filter.
    breaks : int
        Instants at which a block is also cut short.
    shorter : int
        Blocks shorter by so many exposures are tried as well.
    """

    bucket_s: float
    kept: int
    tried: int
    breaks: int
    shorter: int = 0


@dataclass(frozen=True)
class NightTask:
    """A night to be filled.

    Parameters
    ----------
    work : Workload
    opening : Opening
        The night's segments.
    left : ndarray, shape (J,)
        Exposures left of each job.
    weight : ndarray, shape (J,)
        Worth of a second of a job's work.
    price : float
        Worth of a second of this night.
    transit_pull : float
        Part of the reward lost by a block three hours from its panel's transit.
    width : Width
    """

    work: Workload
    opening: Opening
    left: Values
    weight: Values
    price: float
    transit_pull: float
    width: Width


class Placed(NamedTuple):
    """A block in place: job, exposures, POSIX seconds, whether the telescope looks west.

    `off_transit_s` tells how far its middle lies from the panel's transit.
    """

    job: int
    exposures: int
    start_s: int
    end_s: int
    west: bool
    off_transit_s: float


class _Partial(NamedTuple):
    """A night filled up to an instant: its last block and the night before that block."""

    end_s: float
    reward: float
    before: _Partial | None = None
    segment: int = -1
    exposures: int = 0
    start_s: int = 0


class _Segments(NamedTuple):
    """What is asked of the segments of a night at every step: columns of a night task, a place for each segment."""

    job: NDArray[np.int64]
    start_s: Values
    end_s: Values
    transit_s: Values
    one_s: Values
    least: Values
    most: Values
    weight: Values
    families: list[NDArray[np.int64]]
    """Segments of each filter."""


class _Choices(NamedTuple):
    """Next blocks of a partial night: a row for each cut, in it one for each segment; starts are the same in all."""

    start_s: Values
    end_s: Values
    exposures: Values
    reward: Values
    rate: Values


def fill_night(task: NightTask) -> tuple[Placed, ...]:
    """Place blocks into a night."""
    task = replace(task, opening=_needed(task.opening, task.left))
    if not len(task.opening.job):
        return ()
    segments = _segments(task)
    best = _Partial(float(task.opening.start_s.min()), 0.0)
    heap, seen, count = [(0.0, 0.0, 0, best)], dict[float, int](), 0
    while heap:
        bucket, _, _, partial = heapq.heappop(heap)
        seen[bucket] = seen.get(bucket, 0) + 1
        if seen[bucket] > task.width.kept:
            continue
        for following in _next(task, partial, segments):
            count += 1
            bucket = following.end_s // task.width.bucket_s
            heapq.heappush(heap, (bucket, -following.reward, count, following))
            if following.reward > best.reward:
                best = following
    return _placed(task.opening, best)


def _needed(opening: Opening, left: Values) -> Opening:
    keep = left[opening.job] > 0
    return Opening(*(getattr(opening, one.name)[keep] for one in fields(opening)))


def _segments(task: NightTask) -> _Segments:
    work, opening, job = task.work, task.opening, task.opening.job
    family = job % work.filters
    return _Segments(
        job,
        opening.start_s,
        opening.end_s,
        opening.transit_s,
        work.exposure_s[job],
        work.least[job],
        np.maximum(work.most[job], 1.0),
        task.weight[job],
        [np.flatnonzero(family == one) for one in np.unique(family)],
    )


def _placed(opening: Opening, partial: _Partial) -> tuple[Placed, ...]:
    """Blocks of a night, from the first to the last."""
    found: list[Placed] = []
    while partial.before is not None:
        job, west = int(opening.job[partial.segment]), bool(opening.west[partial.segment])
        middle = (partial.start_s + partial.end_s) / 2.0
        off = abs(middle - float(opening.transit_s[partial.segment]))
        found.append(Placed(job, partial.exposures, partial.start_s, int(partial.end_s), west, off))
        partial = partial.before
    return tuple(reversed(found))


def _next(task: NightTask, partial: _Partial, segments: _Segments) -> list[_Partial]:
    """Partial nights longer by one block."""
    rest, earlier = task.left.copy(), partial
    while earlier.before is not None:
        rest[segments.job[earlier.segment]] -= earlier.exposures
        earlier = earlier.before
    limits = np.array([np.inf, *_breaks(task, partial.end_s), *[np.inf] * task.width.shorter])
    fewer = np.maximum(np.arange(len(limits)) - (len(limits) - 1 - task.width.shorter), 0)
    choices = _choices(
        task, segments, rest, partial.end_s, limits_s=limits[:, None], fewer=fewer.astype(np.float64)[:, None]
    )
    places = _most_rewarding(choices.rate, segments.families, task.width.tried)
    return [_longer(partial, choices, place) for place in places]


def _breaks(task: NightTask, time_s: float) -> list[float]:
    """Instants at which another filter or side of the meridian opens; every opening where many are asked for."""
    start, count = task.opening.start_s, task.width.breaks
    later = start > time_s
    if not count or not later.any():
        return []
    family = 2 * (task.opening.job % task.work.filters) + task.opening.west
    if count > family.max():
        return sorted(set(start[later].tolist()))[:count]
    firsts = {float(start[later & (family == one)].min()) for one in np.unique(family[later])}
    return sorted(firsts)[:count]


def _choices(
    task: NightTask, segments: _Segments, rest: Values, time_s: float, *, limits_s: Values, fewer: Values
) -> _Choices:
    """Longest next block in every segment that ends before a limit, less a few exposures; with its reward.

    Limits and `fewer` have shape (C, 1), what is returned (C, segments).
    """
    one_s, most, overhead_s = segments.one_s, segments.most, task.work.overhead_s
    left = rest[segments.job]
    start = np.maximum(time_s, segments.start_s)
    room = np.minimum(segments.end_s, limits_s) - start - overhead_s
    exposures: Values = np.minimum(left, np.floor(room / one_s + 1e-12)) - fewer
    least = np.minimum(left, segments.least)
    scrap = (exposures < left) & (left - exposures < least)
    exposures = np.where(scrap, left - least, exposures)
    fits = (exposures > 0) & (exposures >= least)
    time = exposures * one_s
    length = np.ceil(overhead_s + time - 1e-6)
    blocks_saved = np.ceil(left / most) - np.ceil((left - exposures) / most)
    fall = time + overhead_s * blocks_saved
    end = start + length
    off_transit = np.abs(start + length / 2.0 - segments.transit_s) / TRANSIT_SCALE_S
    reward = segments.weight * fall * (1.0 - task.transit_pull * off_transit) - task.price * length
    rate = np.where(fits & (reward > 0.0), reward / np.maximum(end - time_s, 1.0), 0.0)
    return _Choices(start, end, exposures, reward, rate)


def _most_rewarding(rate: Values, families: list[NDArray[np.int64]], count: int) -> list[tuple[int, int]]:
    """Rows and segments of the best segments of each family, row by row."""
    best = [places[np.argsort(-rate[:, places], axis=1, kind="stable")[:, :count]] for places in families]
    segment = np.concatenate(best, axis=1)
    row = np.repeat(np.arange(len(rate)), segment.shape[1]).reshape(segment.shape)
    some = rate[row, segment] > 0.0
    return list(zip(row[some].tolist(), segment[some].tolist(), strict=True))


def _longer(partial: _Partial, choices: _Choices, place: tuple[int, int]) -> _Partial:
    segment = place[1]
    reward = partial.reward + float(choices.reward[place])
    exposures, start = int(choices.exposures[place]), int(choices.start_s[segment])
    return _Partial(float(choices.end_s[place]), reward, partial, segment, exposures, start)

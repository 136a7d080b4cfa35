"""A season filled night by night, and improved by emptying some nights and filling them anew.

Nights are taken one after the other: by date for the goal `soonest`, the cheapest first for `cheapest`. How
scarce a job is (the time in which it can be shot on the nights to come, compared with that of the others)
decides what goes first; how strongly is tried in several ways. The best result is then improved: a few nights
drawn at random (always the same draw) are emptied and filled in another way, and what is no worse is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.progress import Progress

from .fill_night import TRANSIT_SCALE_S, NightTask, Placed, Width, fill_night
from .workload import Workload

__all__ = ["Filled", "Season", "fill_season", "rank", "strain_of"]

NARROW = Width(bucket_s=300.0, kept=1, tried=2, breaks=0)
BROAD = Width(bucket_s=300.0, kept=3, tried=3, breaks=1)
EVERY = Width(bucket_s=1.0, kept=3, tried=99, breaks=99, shorter=1)
"""Three widths of the search for a night; the last serves tiny seasons."""
TINY, TINY_NIGHT = 60, 4
"""Seasons with no more segments, in all and on any night, are searched with `EVERY`. Measured on one to three nights
with 6 to 16 segments each: there it takes 30 to 300 times as long (up to 30 s) and finds no timetable that places
more or ends earlier."""
ROUNDS_A_NIGHT, MOST_ROUNDS, TINY_ROUNDS = 8, 450, 100
"""Rounds of improvement; each empties and fills a few nights."""
CLOSING = 0.75
"""Part of the rounds in which an earlier finish is sought."""
GREATEST_WEIGHT = 5.0
FAVOUR_SPREAD = 0.1
IDLE_BASE_S = 300.0
STRAIN, LATENESS = 0.05, 0.002
"""An hour counts as so much more three hours from the transit, and an evening later."""

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Season:
    """A season to be filled.

    Parameters
    ----------
    work : Workload
    date : ndarray of int, shape (M,)
        Number of each night's evening, from 1.
    price : ndarray, shape (M,)
        Price of an hour of each night; all 0 where only the date counts.
    order : tuple of int
        Nights as they are filled.
    horizon : int
        As many nights of the order could suffice.
    """

    work: Workload
    date: NDArray[np.int64]
    price: Values
    order: tuple[int, ...]
    horizon: int

    @property
    def soonest(self) -> bool:
        """Whether only the date counts."""
        return not self.price.any()

    @property
    def first_finish(self) -> int:
        """Number of the evening before which nothing can be finished."""
        return int(self.date[self.order[self.horizon - 1]]) if self.horizon else 0

    @cached_property
    def place(self) -> dict[int, int]:
        """Place of each night in the order, at most the horizon."""
        return {night: min(number, self.horizon) for number, night in enumerate(self.order)}

    @cached_property
    def still_s(self) -> Values:
        """Seconds in which each job can be shot from each night of the horizon on, shape (horizon + 1, J)."""
        time = np.zeros((self.horizon + 1, len(self.work.wanted)))
        for number in range(self.horizon - 1, -1, -1):
            opening = self.work.openings[self.order[number]]
            room = np.maximum(opening.end_s - opening.start_s - self.work.overhead_s, 0.0)
            time[number] = time[number + 1] + np.bincount(opening.job, room, len(self.work.wanted))
        return time

    @cached_property
    def dearest(self) -> float:
        """Price of an hour of the dearest night that may be needed; 1 where nothing is charged."""
        return max((float(self.price[night]) for night in self.order[: self.horizon]), default=0.0) or 1.0


@dataclass(frozen=True)
class Filled:
    """A season filled: blocks by night, and the exposures left of each job."""

    blocks: dict[int, tuple[Placed, ...]]
    left: Values


class _Way(NamedTuple):
    """One way to fill: pull of scarcity and of the transit, worth of a night's time."""

    scarcity: float
    transit_pull: float
    thrift: float


WAYS = tuple(_Way(scarcity, pull, 0.0) for scarcity in (0.3, 0.15, 0.5, 0.0) for pull in (0.02, 0.0))
THRIFTY = tuple(way._replace(thrift=thrift) for thrift in (0.0, 0.95, 0.5) for way in WAYS[:4])


def fill_season(season: Season, progress: Progress | None = None) -> Filled:
    """Fill a season as well as can be found."""
    ways = WAYS if season.soonest else THRIFTY
    narrow, wide = (EVERY, EVERY) if _is_tiny(season.work) else (NARROW, BROAD)
    tried = []
    for number, way in enumerate(ways):
        _tell(progress, 0.4 * number / len(ways))
        filled = _fill(season, way, narrow)
        tried.append((rank(season, filled), number, filled))
    best = min(tried, key=lambda one: _nearness(season, one[2]))
    if narrow != wide:
        filled = _fill(season, ways[best[1]], wide)
        best = min(best, (rank(season, filled), best[1], filled), key=lambda one: _nearness(season, one[2]))
    return _improve(season, best[2], narrow, progress)


def rank(season: Season, filled: Filled) -> tuple[float, float, float]:
    """Smaller is better: seconds of exposures missing; the goal: last evening or price; the strain.

    The strain is the blocks' hours, longer the farther they lie from their panels' transits and the later they
    are: so panels of one filter are shot through like airmass, and early, where that costs nothing.
    """
    missing = round(float(filled.left @ season.work.exposure_s), 3)
    last = max((int(season.date[night]) for night, placed in filled.blocks.items() if placed), default=0)
    spent = sum(float(season.price[night]) * _hours(placed) for night, placed in filled.blocks.items())
    strain = sum(
        strain_of(block.end_s - block.start_s, block.off_transit_s, float(season.date[night]))
        for night, placed in filled.blocks.items()
        for block in placed
    )
    return (missing, last if season.soonest else round(spent, 6), round(strain, 6))


def strain_of(length_s: float, off_transit_s: float, evening: float) -> float:
    """Strain of a block, in hours: its length, and more the farther from the transit and the later it is."""
    off = off_transit_s / TRANSIT_SCALE_S
    return length_s / 3600.0 * (1.0 + STRAIN * off**2 + LATENESS * evening)


def _nearness(season: Season, filled: Filled) -> tuple[float, ...]:
    """Smaller is better: as `rank`, but of equals the one with the least work on its last evening."""
    missing, goal, strain = rank(season, filled)
    if not season.soonest:
        return (missing, goal, strain)
    on_last = sum(_hours(placed) for night, placed in filled.blocks.items() if season.date[night] == goal)
    return (missing, goal, on_last, strain)


def _tell(progress: Progress | None, part: float) -> None:
    if progress:
        progress("arranging the timetable", part)


def _hours(placed: Sequence[Placed]) -> float:
    return sum(block.end_s - block.start_s for block in placed) / 3600.0


def _is_tiny(work: Workload) -> bool:
    counts = [len(one.job) for one in work.openings]
    return sum(counts) <= TINY and max(counts, default=0) <= TINY_NIGHT


def _fill(season: Season, way: _Way, width: Width) -> Filled:
    """Fill the nights in order."""
    empty = Filled({}, season.work.wanted.copy())
    return _fill_into(season, empty, season.order, way, width=width, favour=np.ones(season.work.filters))


def _fill_into(
    season: Season, filled: Filled, nights: Sequence[int], way: _Way, *, width: Width, favour: Values
) -> Filled:
    """Fill nights that are empty; `favour` weights the filters.

    The worth of a night's time is in units of the dearest that may be needed.
    """
    work, left, blocks = season.work, filled.left.copy(), dict(filled.blocks)
    liking = np.tile(favour, len(left) // work.filters)
    for night in nights:
        if not left.any():
            break
        weight = liking * _scarcity(season.still_s[season.place[night]], left, way.scarcity)
        price = way.thrift * float(season.price[night]) / season.dearest
        task = NightTask(work, work.openings[night], left, weight, price, way.transit_pull, width)
        blocks[night] = fill_night(task)
        for block in blocks[night]:
            left[block.job] -= block.exposures
    return Filled(blocks, left)


def _scarcity(still_s: Values, left: Values, power: float) -> Values:
    """Weight of each job: the greater, the less time there is to shoot it; from 1 to `GREATEST_WEIGHT`."""
    most = still_s[left > 0].max(initial=3600.0)
    return np.asarray(np.clip((most / np.maximum(still_s, 3600.0)) ** power, 1.0, GREATEST_WEIGHT))


def _improve(season: Season, filled: Filled, width: Width, progress: Progress | None) -> Filled:
    """Empty and refill a few nights again and again: first to finish earlier, then to spend less."""
    improver = _Improver(season, width, np.random.default_rng(1), progress, _rounds(filled, width))
    best, used = _with_idle_nights(season, filled), 0
    if season.soonest and not best.left.any():
        best, used = improver.finished_earlier(best)
    return improver.polished(best, used)


@dataclass(frozen=True)
class _Improver:
    """Rounds of improvement, with a fixed sequence of draws."""

    season: Season
    width: Width
    random: np.random.Generator
    progress: Progress | None
    rounds: int

    def finished_earlier(self, best: Filled) -> tuple[Filled, int]:
        """Close the last evening; when the work fits without it, the next one. Tells the rounds used, too."""
        used, trial = 0, _without_last(self.season, best)
        while trial is not best and used < CLOSING * self.rounds:
            trial = self._round(trial, used)
            used += 1
            if not trial.left.any():
                best = trial
                trial = _without_last(self.season, best)
        return best, used

    def polished(self, best: Filled, used: int) -> Filled:
        """Fill nights anew where that leaves less undone, then where it costs less or strains less."""
        for number in range(used, self.rounds):
            best = self._round(best, number)
        return best

    def _round(self, filled: Filled, number: int) -> Filled:
        season = self.season
        _tell(self.progress, 0.5 + 0.5 * number / self.rounds)
        if not any(len(season.work.openings[night].job) for night in filled.blocks):
            return filled
        other = _refilled(season, filled, self.width, self.random)
        return min(other, filled, key=lambda one: _worth(season, one))


def _rounds(filled: Filled, width: Width) -> int:
    """Rounds of improvement: more for longer seasons."""
    if width == EVERY:
        return TINY_ROUNDS
    nights = sum(bool(placed) for placed in filled.blocks.values())
    return min(MOST_ROUNDS, 40 + ROUNDS_A_NIGHT * nights)


def _with_idle_nights(season: Season, filled: Filled) -> Filled:
    """Let nights that are no dearer than the dearest in use, and no later where only dates count, be drawn too."""
    used = [night for night, placed in filled.blocks.items() if placed]
    price = max((season.price[night] for night in used), default=0.0)
    last = max((season.date[night] for night in used), default=0) if season.soonest else max(season.date)
    idle = [night for night in season.order if season.price[night] <= price and season.date[night] <= last]
    return Filled({**dict.fromkeys(idle, ()), **filled.blocks}, filled.left)


def _without_last(season: Season, filled: Filled) -> Filled:
    """Empty the last evening in use, as long as the work might fit without it."""
    last = rank(season, filled)[1]
    if last <= season.first_finish:
        return filled
    return _emptied(season, filled, [night for night in filled.blocks if season.date[night] >= last])


def _emptied(season: Season, filled: Filled, nights: Sequence[int]) -> Filled:
    left, blocks = filled.left.copy(), dict(filled.blocks)
    for night in nights:
        for block in blocks.pop(night, ()):
            left[block.job] += block.exposures
    return Filled(blocks, left)


def _refilled(season: Season, filled: Filled, width: Width, random: np.random.Generator) -> Filled:
    """Empty a few nights drawn at random and fill them in a way drawn at random."""
    drawn = _drawn(season, filled, random)
    ways = WAYS if season.soonest else THRIFTY
    thrift = 0.0 if season.soonest else float(random.uniform())
    way = ways[int(random.integers(len(ways)))]
    way = way._replace(transit_pull=float(random.uniform(0.0, 0.03)), thrift=thrift)
    favour = np.exp(FAVOUR_SPREAD * random.standard_normal(season.work.filters))
    emptied = _emptied(season, filled, drawn)
    return _fill_into(season, emptied, drawn, way, width=width, favour=favour)


def _drawn(season: Season, filled: Filled, random: np.random.Generator) -> list[int]:
    """Draw two or three nights, such with much idle time more often."""
    openings = season.work.openings
    nights = [night for night in filled.blocks if len(openings[night].job)]
    open_s = [float(openings[night].end_s.max() - openings[night].start_s.min()) for night in nights]
    used_s = [3600.0 * _hours(filled.blocks[night]) for night in nights]
    chance = np.maximum(np.subtract(open_s, used_s), 0.0) + IDLE_BASE_S
    count = min(len(nights), int(random.integers(2, 4)))
    return [int(one) for one in random.choice(nights, count, replace=False, p=chance / chance.sum())]


def _worth(season: Season, filled: Filled) -> tuple[float, float, float]:
    """Smaller is better: as `rank`, but with overheads in the work that is left, so that it falls in small steps."""
    work_s = float(season.work.work_s(filled.left).sum())
    return (round(work_s, 3), *rank(season, filled)[1:])

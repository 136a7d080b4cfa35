"""Blocks of a finished timetable brought nearer to their panels' transits, at no cost to its goal.

A block may slide, change places with another one, or go over to another evening; it keeps its exposures and so its
length. What counts is the strain that `fill_season` weighs last; nothing is tried that makes the timetable end later
(`soonest`), and nothing that makes it dearer. Where somebody has to turn the camera between panels, turns count
first: blocks change places until nights need few, and then stand in the order that needs the fewest. Where blocks
stand in a night for a given order is a convex task with one answer: pooling of neighbours that would overlap
(isotonic regression with bounds: Barlow et al. 1972, Statistical Inference under Order Restrictions, from memory).
"""

from __future__ import annotations

import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from .fill_night import Placed
from .fill_season import Filled, Season, rank, strain_of
from .turns.fewer_turns import PULLS, Turning, in_turn
from .workload import Opening

__all__ = ["lifted"]

MOST_TRIALS = 25_000
"""Orders of a night that are tried in all: measured, half a second to a second. Of 60 panels through 4 filters in 90
nights that is a part; the samples need 2,600 to some 25,000 until nothing gains."""
GAIN = 1e-6
"""Strain, in hours, below which a change is not worth while."""


_Blocks = dict[int, tuple[Placed, ...]]


class _Item(NamedTuple):
    """A block without its time: job, exposures, length, and the segment of its night in which it lies."""

    job: int
    exposures: int
    length_s: int
    segment: int


class _Night(NamedTuple):
    """Blocks of a night in their order, when they start, and their strain."""

    items: tuple[_Item, ...] = ()
    start_s: tuple[int, ...] = ()
    strain: float = 0.0


class _Move(NamedTuple):
    """Nights as they would be, and what that gains."""

    gain: float
    nights: dict[int, _Night]


def lifted(
    season: Season, filled: Filled, prices: Sequence[tuple[float, str]], turning: Turning | None = None
) -> Filled:
    """Return a filled season with its blocks nearer to their transits, no dearer in any currency.

    Parameters
    ----------
    season : Season
    filled : Filled
        Is left as it is.
    prices : sequence of (float, str)
        Price of an hour of each night and its currency, whether the goal asks for it or not.
    turning : Turning, optional
        Where somebody turns the camera: then turns are spared first, and never more than without.
    """
    worked = {night: blocks for night, blocks in filled.blocks.items() if blocks}
    plain = _Lift(season, worked, prices)
    plain.run()
    found = plain.blocks()
    if turning is not None and turning.several:
        pulled = (_with_few_turns(season, found, prices, replace(turning, pull=pull)) for pull in PULLS)
        ways = [found, _in_turn(season, found, prices, turning), *pulled]
        found = min(ways, key=lambda one: (turning.turns(_jobs(one)), rank(season, Filled(one, filled.left))))
    return Filled({**dict.fromkeys(filled.blocks, ()), **found}, filled.left)


def _with_few_turns(
    season: Season, blocks: _Blocks, prices: Sequence[tuple[float, str]], turning: Turning
) -> _Blocks:
    """Let blocks change places, for fewer turns before all."""
    lift = _Lift(season, blocks, prices, turning)
    lift.run()
    return _in_turn(season, lift.blocks(), prices, turning)


def _in_turn(
    season: Season, blocks: _Blocks, prices: Sequence[tuple[float, str]], turning: Turning
) -> _Blocks:
    """Leave blocks in their nights, in the order that needs the fewest turns."""
    lift = _Lift(season, blocks, prices)
    lift.order(in_turn(turning, _jobs(blocks), lift.strain_in_order))
    return lift.blocks()


def _jobs(blocks: _Blocks) -> dict[int, Sequence[int]]:
    return {night: [one.job for one in row] for night, row in blocks.items() if row}


class _Spans:
    """Segments of a night as plain numbers, and which of them are a job's."""

    def __init__(self, opening: Opening) -> None:
        self.start_s: list[float] = opening.start_s.tolist()
        self.end_s: list[float] = opening.end_s.tolist()
        self.transit_s: list[float] = opening.transit_s.tolist()
        self.west: list[bool] = opening.west.tolist()
        self.of_job: dict[int, list[int]] = {}
        for segment, job in enumerate(opening.job.tolist()):
            self.of_job.setdefault(job, []).append(segment)
        self.whole_s = max(self.end_s, default=0.0) - min(self.start_s, default=0.0)

    def segments_for(self, item: _Item) -> list[int]:
        """Segments that can hold a block."""
        found = self.of_job.get(item.job, [])
        return [one for one in found if self.end_s[one] - self.start_s[one] >= item.length_s]

    def holding(self, block: Placed) -> int:
        """Return the segment in which a block lies."""
        return next(
            one
            for one in self.of_job[block.job]
            if self.start_s[one] <= block.start_s and block.end_s <= self.end_s[one]
        )


@dataclass
class _Lift:
    """The season while its blocks move."""

    season: Season
    given: dict[int, tuple[Placed, ...]]
    prices: Sequence[tuple[float, str]]
    turning: Turning | None = None
    nights: dict[int, _Night] = field(init=False)
    trials: int = 0

    def __post_init__(self) -> None:
        self.last = max((int(self.season.date[night]) for night in self.given), default=0)
        open_to = [night for night in self.season.order if self._may_hold(night)]
        self.spans = {night: _Spans(self.season.work.openings[night]) for night in {*open_to, *self.given}}
        self.bare: dict[int, list[_Night | None]] = {}
        """Nights without each of their blocks in turn."""
        self.leasts: dict[tuple[int, int, int], float] = {}
        self.nights = {night: self._as_given(night) for night in self.spans}

    def _may_hold(self, night: int) -> bool:
        return not self.season.soonest or int(self.season.date[night]) <= self.last

    def _as_given(self, night: int) -> _Night:
        blocks, spans = self.given.get(night, ()), self.spans[night]
        items = [_Item(one.job, one.exposures, one.end_s - one.start_s, spans.holding(one)) for one in blocks]
        found = self._placed(night, items)
        assert found is not None, "blocks stay where they were placed"
        return found

    def run(self) -> None:
        """Move blocks, those that strain most first, until nothing gains or enough has been tried."""
        moved = True
        while moved and self.trials < MOST_TRIALS:
            moved = False
            for night, place in self._by_strain():
                if self.trials >= MOST_TRIALS or place >= len(self.nights[night].items):
                    continue
                best = max(self._moves(night, place), key=lambda move: move.gain, default=None)
                if best is not None and best.gain > GAIN:
                    self.nights.update(best.nights)
                    for changed in best.nights:
                        self.bare.pop(changed, None)
                    moved = True

    def strain_in_order(self, night: int, places: Sequence[int]) -> float | None:
        """Strain of a night with its blocks in another order; None where they do not fit so."""
        found = self._in_order(night, places)
        return None if found is None else found.strain

    def order(self, orders: dict[int, tuple[int, ...]]) -> None:
        """Set the blocks of nights in another order, which fits."""
        for night, places in orders.items():
            found = self._in_order(night, places)
            assert found is not None, "only orders that fit are chosen"
            self.nights[night] = found
            self.bare.pop(night, None)

    def _in_order(self, night: int, places: Sequence[int]) -> _Night | None:
        return self._placed(night, [self.nights[night].items[place] for place in places])

    def blocks(self) -> _Blocks:
        """Blocks of every night that has some."""
        return {
            night: tuple(self._block(night, one, start) for one, start in zip(*held[:2], strict=True))
            for night, held in self.nights.items()
            if held.items
        }

    def _block(self, night: int, item: _Item, start_s: int) -> Placed:
        spans, end_s = self.spans[night], start_s + item.length_s
        off_s = abs((start_s + end_s) / 2.0 - spans.transit_s[item.segment])
        return Placed(item.job, item.exposures, start_s, end_s, spans.west[item.segment], off_s)

    def _by_strain(self) -> list[tuple[int, int]]:
        """Nights and places of all blocks, the one farthest from its transit first."""
        found = [
            (-self._block(night, item, start).off_transit_s * item.length_s, night, place)
            for night, held in self.nights.items()
            for place, (item, start) in enumerate(zip(held.items, held.start_s, strict=True))
        ]
        return [(night, place) for _, night, place in sorted(found)]

    def _moves(self, night: int, place: int) -> Iterator[_Move]:
        """Give what a block may do: go elsewhere in its night, to another one, or change with a block there.

        What cannot gain is left out: a night with a block more strains at least as it does without, and by the least
        of that block.
        """
        item, without = self.nights[night].items[place], self._without(night)[place]
        if without is None:
            return
        saved = self.nights[night].strain - without.strain
        for other, held in self.nights.items():
            if self._least(other, item) + GAIN < saved and self._affordable(item.length_s, night, other):
                there = self._inserted(other, without.items if other == night else held.items, item)
                if there is not None and other == night:
                    yield _Move(self.nights[night].strain - there.strain, {night: there})
                elif there is not None:
                    yield _Move(saved + held.strain - there.strain, {night: without, other: there})
            if other != night:
                yield from self._exchanges(night, item, without, other)

    def _exchanges(self, night: int, item: _Item, without: _Night, other: int) -> Iterator[_Move]:
        """Give the changes of a block with each of another night."""
        before, least = self.nights[night].strain + self.nights[other].strain, self._least(other, item)
        for back, remaining in zip(self.nights[other].items, self._without(other), strict=True):
            if remaining is None or not self._affordable(item.length_s - back.length_s, night, other):
                continue
            if without.strain + remaining.strain + least + self._least(night, back) + GAIN >= before:
                continue
            here = self._inserted(night, without.items, back)
            there = self._inserted(other, remaining.items, item) if here is not None else None
            if here is not None and there is not None:
                yield _Move(before - here.strain - there.strain, {night: here, other: there})

    def _without(self, night: int) -> list[_Night | None]:
        """Return a night without each of its blocks in turn."""
        if night not in self.bare:
            items = self.nights[night].items
            rests = ((*items[:place], *items[place + 1 :]) for place in range(len(items)))
            self.bare[night] = [self._placed(night, rest) for rest in rests]
        return self.bare[night]

    def _affordable(self, length_s: int, night: int, other: int) -> bool:
        """Whether so many seconds more on the other night and fewer on this one cost nothing."""
        (here, paid_here), (there, paid_there) = self.prices[night], self.prices[other]
        return (not length_s or here == there == 0.0 or paid_here == paid_there) and length_s * (
            there - here
        ) <= 0.0

    def _least(self, night: int, item: _Item) -> float:
        """Strain of a block on a night that is its alone; infinite where it has no place."""
        key = night, item.job, item.length_s
        if key not in self.leasts:
            self.leasts[key] = self._least_anew(night, item)
        return self.leasts[key]

    def _least_anew(self, night: int, item: _Item) -> float:
        spans = self.spans[night]
        strains = (
            self._strain(night, _near(spans, one, item.length_s), item.length_s, one)
            for one in spans.segments_for(item)
        )
        return min(strains, default=float("inf"))

    def _strain(self, night: int, start_s: float, length_s: int, segment: int) -> float:
        off_s = abs(start_s + length_s / 2.0 - self.spans[night].transit_s[segment])
        return strain_of(length_s, off_s, float(self.season.date[night]))

    def _inserted(self, night: int, items: Sequence[_Item], item: _Item) -> _Night | None:
        """Return a night with one block more, in the best place for it."""
        spans = self.spans[night]
        if sum(one.length_s for one in items) + item.length_s > spans.whole_s:
            return None
        tried = (
            self._placed(night, [*items[:place], item._replace(segment=segment), *items[place:]])
            for segment in spans.segments_for(item)
            for place in range(len(items) + 1)
        )
        return min((one for one in tried if one is not None), key=lambda one: one.strain, default=None)

    def _placed(self, night: int, items: Sequence[_Item]) -> _Night | None:
        """Return a night with blocks in this order, as near to their transits as that allows."""
        self.trials += 1
        starts = _starts(self.spans[night], items)
        if starts is None:
            return None
        strain = 0.0
        for one, start in zip(items, starts, strict=True):
            strain += self._strain(night, start, one.length_s, one.segment)
        if self.turning is not None:
            strain += self.turning.strain(
                [one.job for one in items], [one.length_s for one in items], float(self.season.date[night])
            )
        return _Night(tuple(items), starts, strain)


def _near(spans: _Spans, segment: int, length_s: int) -> float:
    """Start of a block as near to the transit as its segment allows."""
    wanted = spans.transit_s[segment] - length_s / 2.0
    return min(max(wanted, spans.start_s[segment]), spans.end_s[segment] - length_s)


def _starts(spans: _Spans, items: Sequence[_Item]) -> tuple[int, ...] | None:
    """Place blocks one after the other with the least sum of length times squared distance from the transit.

    Counted from where they would start if they began together, starts must not fall; blocks that would are pooled.
    """
    low, high, wanted, offset = [], [], [], 0.0
    for one in items:
        low.append(spans.start_s[one.segment] - offset)
        high.append(spans.end_s[one.segment] - one.length_s - offset)
        wanted.append(spans.transit_s[one.segment] - one.length_s / 2.0 - offset)
        offset += one.length_s
    for place in range(1, len(items)):
        low[place] = max(low[place], low[place - 1])
        high[-place - 1] = min(high[-place - 1], high[-place])
    if any(map(operator.gt, low, high)):
        return None
    pools: list[_Pool] = []
    for one, wish, first, last in zip(items, wanted, low, high, strict=True):
        pool = _Pool.of(1, one.length_s, one.length_s * wish, first, last)
        while pools and pools[-1].start_s > pool.start_s:
            pool = pools.pop().joined(pool)
        pools.append(pool)
    return _unrolled(pools, items)


def _unrolled(pools: Sequence[_Pool], items: Sequence[_Item]) -> tuple[int, ...]:
    starts, offset, place = [], 0, 0
    for pool in pools:
        first = round(pool.start_s)
        for one in items[place : place + pool.blocks]:
            starts.append(first + offset)
            offset += one.length_s
        place += pool.blocks
    return tuple(starts)


class _Pool(NamedTuple):
    """Blocks that follow each other without a pause: their number, weight, weighted wish, limits, first start."""

    blocks: int
    weight: float
    wish: float
    low_s: float
    high_s: float
    start_s: float

    @classmethod
    def of(cls, blocks: int, weight: float, wish: float, low_s: float, high_s: float) -> _Pool:
        """Return a pool that starts as near to its wish as its limits allow."""
        return cls(blocks, weight, wish, low_s, high_s, min(max(wish / weight, low_s), high_s))

    def joined(self, later: _Pool) -> _Pool:
        """Both as one."""
        return _Pool.of(
            self.blocks + later.blocks,
            self.weight + later.weight,
            self.wish + later.wish,
            max(self.low_s, later.low_s),
            min(self.high_s, later.high_s),
        )

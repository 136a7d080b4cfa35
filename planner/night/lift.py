"""Blocks of a finished timetable brought nearer to their panels' transits, at no cost to its goal.

A block may slide, change places with another one, or go over to another evening; it keeps its exposures and so its
length. What counts is the strain that `fill_season` weighs last; nothing is tried that makes the timetable end later
(`soonest`), and nothing that makes it dearer. Where blocks stand in a night for a given order is a convex task with
one answer: pooling of neighbours that would overlap (isotonic regression with bounds: Barlow et al. 1972, Statistical
Inference under Order Restrictions, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from typing import NamedTuple

from .fill_night import Placed
from .fill_season import Filled, Season, strain_of
from .workload import Opening

__all__ = ["lifted"]

MOST_TRIALS = 25_000
"""Orders of a night that are tried in all: measured, one to two seconds. Of 60 panels through 4 filters in 90 nights
that is a part; the samples need 2,600 to some 25,000 until nothing gains."""
GAIN = 1e-6
"""Strain, in hours, below which a change is not worth while."""


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


def lifted(season: Season, filled: Filled, prices: Sequence[tuple[float, str]]) -> Filled:
    """Return a filled season with its blocks nearer to their transits, no dearer in any currency.

    Parameters
    ----------
    season : Season
    filled : Filled
        Is left as it is.
    prices : sequence of (float, str)
        Price of an hour of each night and its currency, whether the goal asks for it or not.
    """
    lift = _Lift(season, {night: blocks for night, blocks in filled.blocks.items() if blocks}, prices)
    lift.run()
    return Filled({**dict.fromkeys(filled.blocks, ()), **lift.blocks()}, filled.left)


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
    nights: dict[int, _Night] = field(init=False)
    trials: int = 0

    def __post_init__(self) -> None:
        self.last = max((int(self.season.date[night]) for night in self.given), default=0)
        open_to = [night for night in self.season.order if self._may_hold(night)]
        self.spans = {night: _Spans(self.season.work.openings[night]) for night in {*open_to, *self.given}}
        self.nights = {night: self._as_given(night) for night in self.spans}

    def _may_hold(self, night: int) -> bool:
        return not self.season.soonest or int(self.season.date[night]) <= self.last

    def _as_given(self, night: int) -> _Night:
        blocks, spans = self.given.get(night, ()), self.spans[night]
        items = [
            _Item(one.job, one.exposures, one.end_s - one.start_s, spans.holding(one)) for one in blocks
        ]
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
                    moved = True

    def blocks(self) -> dict[int, tuple[Placed, ...]]:
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
        """Give what a block may do: go elsewhere in its night, to another one, or change with a block there."""
        item, rest = _taken(self.nights[night].items, place)
        without = self._placed(night, rest)
        if without is None:
            return
        before = self.nights[night].strain
        for other, held in self.nights.items():
            if other == night:
                again = self._inserted(night, rest, item)
                if again is not None:
                    yield _Move(before - again.strain, {night: again})
                continue
            if self._least(other, item) >= before - without.strain and not held.items:
                continue
            if self._affordable(item.length_s, night, other):
                there = self._inserted(other, held.items, item)
                if there is not None:
                    gain = before + held.strain - without.strain - there.strain
                    yield _Move(gain, {night: without, other: there})
            yield from self._exchanges(night, rest, item, other)

    def _exchanges(self, night: int, rest: Sequence[_Item], item: _Item, other: int) -> Iterator[_Move]:
        """Give the changes of a block with each of another night."""
        before = self.nights[night].strain + self.nights[other].strain
        for place in range(len(self.nights[other].items)):
            back, remaining = _taken(self.nights[other].items, place)
            if not self._affordable(item.length_s - back.length_s, night, other):
                continue
            if self._least(other, item) + self._least(night, back) >= before:
                continue
            here = self._inserted(night, rest, back)
            there = self._inserted(other, remaining, item) if here is not None else None
            if here is not None and there is not None:
                yield _Move(before - here.strain - there.strain, {night: here, other: there})

    def _affordable(self, length_s: int, night: int, other: int) -> bool:
        """Whether so many seconds more on the other night and fewer on this one cost nothing."""
        (here, paid_here), (there, paid_there) = self.prices[night], self.prices[other]
        return (not length_s or here == there == 0.0 or paid_here == paid_there) and length_s * (there - here) <= 0.0

    def _least(self, night: int, item: _Item) -> float:
        """Strain of a block on a night that is its alone."""
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
        strain = sum(
            self._strain(night, start, one.length_s, one.segment)
            for one, start in zip(items, starts, strict=True)
        )
        return _Night(tuple(items), starts, strain)


def _taken(items: Sequence[_Item], place: int) -> tuple[_Item, tuple[_Item, ...]]:
    return items[place], (*items[:place], *items[place + 1 :])


def _near(spans: _Spans, segment: int, length_s: int) -> float:
    """Start of a block as near to the transit as its segment allows."""
    wanted = spans.transit_s[segment] - length_s / 2.0
    return min(max(wanted, spans.start_s[segment]), spans.end_s[segment] - length_s)


def _starts(spans: _Spans, items: Sequence[_Item]) -> tuple[int, ...] | None:
    """Place blocks one after the other with the least sum of length times squared distance from the transit.

    Counted from where they would start if they began together, starts must not fall; blocks that would are pooled.
    """
    if not items:
        return ()
    offsets = list(accumulate((one.length_s for one in items[:-1]), initial=0))
    numbered = list(zip(items, offsets, strict=True))
    low = list(accumulate((spans.start_s[one.segment] - offset for one, offset in numbered), max))
    latest = (spans.end_s[one.segment] - one.length_s - offset for one, offset in reversed(numbered))
    high = list(accumulate(latest, min))[::-1]
    if any(first > second for first, second in zip(low, high, strict=True)):
        return None
    pools: list[_Pool] = []
    for (one, offset), first, second in zip(numbered, low, high, strict=True):
        wanted = spans.transit_s[one.segment] - one.length_s / 2.0 - offset
        pool = _Pool(1, one.length_s, one.length_s * wanted, first, second)
        while pools and pools[-1].start_s > pool.start_s:
            pool = pools.pop().joined(pool)
        pools.append(pool)
    places = (pool.start_s for pool in pools for _ in range(pool.blocks))
    return tuple(round(place) + offset for place, offset in zip(places, offsets, strict=True))


class _Pool(NamedTuple):
    """Blocks that follow each other without a pause: their number, weight, weighted wish, and limits."""

    blocks: int
    weight: float
    wish: float
    low_s: float
    high_s: float

    @property
    def start_s(self) -> float:
        """Where the first of them starts."""
        return min(max(self.wish / self.weight, self.low_s), self.high_s)

    def joined(self, later: _Pool) -> _Pool:
        """Both as one."""
        return _Pool(
            self.blocks + later.blocks,
            self.weight + later.weight,
            self.wish + later.wish,
            max(self.low_s, later.low_s),
            min(self.high_s, later.high_s),
        )

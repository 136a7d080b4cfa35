"""Turns of the camera between blocks: counted, and spared by the order of each night's blocks.

Blocks of one setting of the camera stand together in a night, and nights are ordered so that one begins at the
setting at which the one before ended. Which order each night takes is the shortest path through all of them, night by
night (dynamic programming: Bellman 1957, Dynamic Programming, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, permutations
from typing import NamedTuple

__all__ = ["PULLS", "Ordered", "Turning", "in_turn"]

PULLS = (0.0, 0.05, -0.2, 0.6)
"""How strongly settings are drawn to evenings in the order of their numbers (below 0: against it), in hours of strain
an evening and an hour; each is tried. Measured on 14 panels at two readings in 10 and in 18 evenings: 11 and 9
turns with the first alone, 8 and 3 with all, 20 without any of this."""
MOST_PERMUTED = 4
"""Settings of a night that are tried in every order; of more, each one goes to the front and to the end."""
TURN_H, MIXED = 3.0, 1.0
"""A turn within a night counts as so many hours of strain, an hour at another than the night's main setting as so
many: more than the distance from the transit ever does, so that turns go first."""


@dataclass(frozen=True)
class Turning:
    """How the camera has to stand.

    Parameters
    ----------
    setting : tuple of int
        Number of each job's setting of the camera.
    site : tuple of int
        Index of each night's site; each has a camera of its own.
    pull : float
        One of `PULLS`.
    """

    setting: tuple[int, ...]
    site: tuple[int, ...]
    pull: float = 0.0

    @property
    def several(self) -> bool:
        """Whether there is anything to turn."""
        return len(set(self.setting)) > 1

    def strain(self, jobs: Sequence[int], lengths_s: Sequence[float], evening: float) -> float:
        """Strain of a night's turns, of what is shot at another than its main setting and of the pull, in hours."""
        settings = [self.setting[job] for job in jobs]
        hours = dict.fromkeys(settings, 0.0)
        for setting, length_s in zip(settings, lengths_s, strict=True):
            hours[setting] += length_s / 3600.0
        mixed = sum(hours.values()) - max(hours.values(), default=0.0)
        drawn = sum(self._drawn(setting) * length_h for setting, length_h in hours.items())
        return TURN_H * sum(a != b for a, b in pairwise(settings)) + MIXED * mixed + drawn * evening

    def _drawn(self, setting: int) -> float:
        """Strain an hour and an evening; never negative, so that a block more never strains less."""
        return abs(self.pull) * (setting if self.pull < 0.0 else self._last - setting) / max(self._last, 1)

    @cached_property
    def _last(self) -> int:
        return max(self.setting)

    def turns(self, nights: dict[int, Sequence[int]]) -> int:
        """Count the turns of a season, given the jobs of each night in their order; nights rise with time."""
        last: dict[int, int] = {}
        count = 0
        for night in sorted(nights):
            for job in nights[night]:
                setting = self.setting[job]
                count += last.setdefault(self.site[night], setting) != setting
                last[self.site[night]] = setting
        return count


class Ordered(NamedTuple):
    """A night in one order: places of its blocks as given, its first and last setting, its own turns, its strain."""

    places: tuple[int, ...]
    first: int
    last: int
    turns: int
    strain: float


def in_turn(
    turning: Turning,
    nights: dict[int, Sequence[int]],
    strain_of: Callable[[int, Sequence[int]], float | None],
) -> dict[int, tuple[int, ...]]:
    """Return the order of each night's blocks that needs the fewest turns, of equals the one that strains least.

    Parameters
    ----------
    nights : dict
        Jobs of each night that has some, as they stand.
    strain_of : callable
        Strain of a night with its blocks in another order (night, places); None where they do not fit so.
    """
    found: dict[int, tuple[int, ...]] = {}
    for site in sorted({turning.site[night] for night in nights}):
        ours = [night for night in sorted(nights) if turning.site[night] == site]
        choices = [list(_choices(turning, night, nights[night], strain_of)) for night in ours]
        found.update(zip(ours, _cheapest_path(choices), strict=True))
    return found


def _choices(
    turning: Turning, night: int, jobs: Sequence[int], strain_of: Callable[[int, Sequence[int]], float | None]
) -> Iterator[Ordered]:
    """Yield the orders of a night that fit: as given, and with each setting's blocks together."""
    settings = [turning.setting[job] for job in jobs]
    together = (
        [n for one in order for n, s in enumerate(settings) if s == one] for order in _orders(settings)
    )
    for places in dict.fromkeys([tuple(range(len(jobs))), *map(tuple, together)]):
        strain = strain_of(night, places)
        if strain is not None:
            row = [settings[place] for place in places]
            yield Ordered(places, row[0], row[-1], sum(a != b for a, b in pairwise(row)), strain)


def _orders(settings: Sequence[int]) -> Iterator[tuple[int, ...]]:
    kinds = tuple(dict.fromkeys(settings))
    if len(kinds) <= MOST_PERMUTED:
        yield from permutations(kinds)
        return
    for one in kinds:
        rest = tuple(other for other in kinds if other != one)
        yield from ((one, *rest), (*rest, one))


def _cheapest_path(choices: Sequence[Sequence[Ordered]]) -> tuple[tuple[int, ...], ...]:
    """Return one order for each night: fewest turns in all, then the least strain."""
    best: dict[int, tuple[int, float, tuple[tuple[int, ...], ...]]] = {}
    for night in choices:
        reached: dict[int, tuple[int, float, tuple[tuple[int, ...], ...]]] = {}
        for one in night:
            ways = [
                (turns + one.turns + (last != one.first), strain + one.strain, (*path, one.places))
                for last, (turns, strain, path) in best.items()
            ] or [(one.turns, one.strain, (one.places,))]
            reached[one.last] = min([*ways, *([reached[one.last]] if one.last in reached else [])])
        best = reached
    return min(best.values())[2]

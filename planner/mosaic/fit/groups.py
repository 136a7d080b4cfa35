"""Which sets of things fit one field together with a first one: the best of them, none missed.

What a set needs of a field at an angle is the largest that any of its members needs on each side, so sets are grown
member by member in the tangent plane about the first thing: there margins of thousands of sets are found from their
supports alone, right to a known slack. What no slack can rule out is placed exactly.

Sets are worth the area that they bring in times the margin that remains. A set that leaves out a thing which would
cost no margin is worth less than with it, so such things are always taken in. The rest is branch and bound: a set
of which no superset can be worth as much as the last of the best is not grown any further.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import vector_to_plane
from planner.progress import Progress

from .best import Arc, Placement, best_placement
from .opening import Opening
from .shape import Shape

__all__ = ["Group", "GroupSearch", "find_groups"]

Array = NDArray[np.float64]
DIRECTIONS = 1440
"""A quarter of a degree apart; sets are looked at at every one of these angles in half a turn."""
ALIKE = 0.15
"""Sets that differ by less than this part of the larger one's area are alike."""
FREE = 1e-12
MOST_SETS = 2_000_000
"""The search gives up growing sets after looking at so many, and says so."""
EVERY = 256
"""So many new sets before the worth of the last of the best is found anew."""
PLACE_ROUNDS = 5
"""Sets are ranked by placements right to 0.001 degrees."""


@dataclass(frozen=True)
class Group:
    """A set that fits, with its best placement.

    Parameters
    ----------
    members : tuple of int
        Which things are in, the first one left out.
    area : float
        What they bring in, in the unit of the areas given.
    placement : Placement
    worth : float
        Area times the margin that remains.
    """

    members: tuple[int, ...]
    area: float
    placement: Placement
    worth: float


@dataclass(frozen=True)
class GroupSearch:
    """The best sets, and how many were looked at.

    Parameters
    ----------
    groups : tuple of Group
        The most worthy first, no two alike.
    candidates : int
        Things of which each fits together with the first one.
    looked_at : int
        Sets whose margin was found.
    complete : bool
        Whether all were looked at that could be worth a place among the best.
    """

    groups: tuple[Group, ...]
    candidates: int
    looked_at: int
    complete: bool


def find_groups(
    things: Sequence[ArrayLike],
    areas: Sequence[float],
    opening: Opening,
    *,
    most: int = 20,
    arcs: Sequence[Arc] | None = None,
    progress: Progress | None = None,
) -> GroupSearch:
    """Return the sets most worthy that fit a field together with the first thing.

    Parameters
    ----------
    things : sequence of array_like, each of shape (N, 3)
        Corners of each thing, unit vectors; the first is in every set.
    areas : sequence of float
        Of each thing.
    opening : Opening
        Room counted as margin.
    most : int
        So many sets at most.
    arcs : sequence of (float, float), optional
        Position angles allowed (first and span, radians); all where left out.
    progress : callable, optional
    """
    search = _Search(things, np.asarray(areas, dtype=float), opening, most, arcs, progress)
    search.grow()
    return GroupSearch(
        tuple(search.placed_best()), len(search.candidates), search.looked_at, search.looked_at < MOST_SETS
    )


@dataclass
class _Node:
    """A set, what may still join it, and what must not."""

    members: tuple[int, ...]
    support: Array
    margin: float
    left: NDArray[np.int64]
    barred: tuple[int, ...] = ()


@dataclass
class _Found:
    """A set that may fit, and bounds of its worth."""

    members: frozenset[int]
    area: float
    at_least: float
    at_most: float


@dataclass
class _Search:
    """Branch and bound over sets; `found` holds those that may be among the best."""

    things: Sequence[ArrayLike]
    areas: Array
    opening: Opening
    most: int
    arcs: Sequence[Arc] | None
    progress: Progress | None = None
    looked_at: int = 0
    found: list[_Found] = field(default_factory=list)
    last_worth: float = 0.0

    def __post_init__(self) -> None:
        self.corners = [np.asarray(one, dtype=float).reshape(-1, 3) for one in self.things]
        self.listed = self.areas.tolist()
        size = math.hypot(*self.opening.half)
        self.bent = 3 * size**3
        self.slack = self.bent + size * math.pi / DIRECTIONS
        self._take_supports(size)
        self._take_angles(size)

    def _take_supports(self, size: float) -> None:
        """Find the supports of those things that lie near enough to fit beside the first."""
        self.basis = Shape.around([self.corners[0]]).basis
        ahead = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
        unit = np.stack([np.cos(ahead), np.sin(ahead)])
        reach = math.cos(min(1.5, 2 * math.atan(2.2 * size)))
        near = [k for k, one in enumerate(self.corners) if (one @ self.basis[2]).min() > reach]
        self.supports = np.full((len(self.corners), DIRECTIONS), np.inf)
        for k in near:
            self.supports[k] = (vector_to_plane(self.corners[k], self.basis) @ unit).max(axis=0)

    def _take_angles(self, size: float) -> None:
        """Choose the angles in the plane that may be allowed ones at a field's own centre."""
        step = 2 * np.pi / DIRECTIONS
        angles = step * np.arange(DIRECTIONS // 2)
        allowed = np.ones(len(angles), dtype=bool)
        if self.arcs is not None:
            to_pole = math.acos(min(1.0, abs(float(self.basis[2, 2])))) - 2 * size
            spare = step + (math.pi if to_pole <= 0 else min(math.pi, 2 * size / math.tan(to_pole)))
            allowed[:] = False
            for start, span in self.arcs:
                allowed |= (angles - start + spare) % np.pi <= span + 2 * spare
        self.steps = np.flatnonzero(allowed)

    def margins(self, supports: Array) -> Array:
        """Largest margin in the plane of sets with these supports (S, DIRECTIONS), shape (S,)."""
        half, quarter = DIRECTIONS // 2, DIRECTIONS // 4
        left = -self.steps
        wide = supports[:, left % DIRECTIONS] + supports[:, (left + half) % DIRECTIONS]
        high = supports[:, (left + quarter) % DIRECTIONS] + supports[:, (left - quarter) % DIRECTIONS]
        margin = np.minimum(self.opening.half[0] - wide / 2, self.opening.half[1] - high / 2)
        self.looked_at += len(supports)
        return np.asarray(margin.max(axis=1))

    def grow(self) -> None:
        """Look at all sets that can be worth a place among the best."""
        first = self.supports[0]
        alone = self.margins(first[None])
        pairs = self.margins(np.maximum(first, self.supports))
        fits = pairs + self.slack >= 0
        fits[0] = False
        self.candidates = np.flatnonzero(fits)
        order = self.candidates[np.argsort(-self.areas[self.candidates], kind="stable")]
        stack = [_Node((), first, float(alone[0]), order)]
        while stack and self.looked_at < MOST_SETS:
            stack.extend(self._branches(stack.pop()))

    def _branches(self, node: _Node) -> list[_Node]:
        """Take in what is free, keep the set, and return it with and without its next member."""
        margins = self._with_each(node.support, node.left)
        while len(node.left) and (free := margins >= node.margin - FREE).any():
            joins = node.left[int(np.flatnonzero(free)[0])]
            node.members = (*node.members, int(joins))
            node.support = np.maximum(node.support, self.supports[joins])
            node.left = node.left[node.left != joins]
            margins = self._with_each(node.support, node.left)
        if node.barred and (self._with_each(node.support, np.array(node.barred)) >= node.margin - FREE).any():
            return []
        self._keep(node)
        stays = margins + self.slack >= 0
        node.left, margins = node.left[stays], margins[stays]
        if not len(node.left) or self._hope(node, margins) <= self.last_worth:
            return []
        joins = int(node.left[0])
        rest = node.left[1:]
        with_it = _Node(
            (*node.members, joins),
            np.maximum(node.support, self.supports[joins]),
            float(margins[0]),
            rest,
            node.barred,
        )
        without = _Node(node.members, node.support, node.margin, rest, (*node.barred, joins))
        return [without, with_it]

    def _with_each(self, support: Array, others: NDArray[np.int64]) -> Array:
        return self.margins(np.maximum(support, self.supports[others]))

    def _hope(self, node: _Node, margins: Array) -> float:
        """Most that any superset can be worth: what joins at no less than some margin, times that margin."""
        order = np.argsort(-margins, kind="stable")
        areas = self._area(node.members) + np.cumsum(self.areas[node.left[order]])
        return float((areas * (np.minimum(margins[order], node.margin) + self.slack)).max())

    def _area(self, members: Iterable[int]) -> float:
        return float(sum(self.listed[k] for k in members))

    def _keep(self, node: _Node) -> None:
        if not node.members:
            return
        members = frozenset(node.members)
        area = self._area(members)
        at_most = area * (node.margin + self.slack)
        if at_most <= self.last_worth or node.margin + self.slack < 0:
            return
        at_least = area * max(0.0, node.margin - self.bent)
        self.found.append(_Found(members, area, at_least, at_most))
        if len(self.found) % EVERY == 0:
            self._trim()

    def _trim(self) -> None:
        """Find the worth of the last of the best, and forget the sets that cannot reach it."""
        best: list[_Found] = []
        for one in sorted(self.found, key=lambda one: -one.at_least):
            if len(best) == self.most:
                break
            if not any(self._alike(one.members, other.members) for other in best):
                best.append(one)
        if len(best) == self.most:
            self.last_worth = max(self.last_worth, best[-1].at_least)
            self.found = [one for one in self.found if one.at_most >= self.last_worth]

    def _alike(self, one: frozenset[int], other: frozenset[int]) -> bool:
        return self._area(one ^ other) < ALIKE * max(self._area(one), self._area(other))

    def placed_best(self) -> list[Group]:
        """Place the sets exactly, the most promising first, until no other can be worth a place."""
        self._trim()
        placed: list[Group] = []
        best: list[Group] = []
        for number, one in enumerate(sorted(self.found, key=lambda one: -one.at_most)):
            if self.progress is not None:
                self.progress(f"placing groups, {self.looked_at:,} sets looked at", number / len(self.found))
            if len(best) == self.most and best[-1].worth >= one.at_most:
                break
            if any(g.worth >= one.at_most and self._alike(frozenset(g.members), one.members) for g in best):
                continue
            group = self._placed(one)
            if group.placement.room >= 0:
                placed.append(group)
                best = self._chosen(placed)
        return best

    def _chosen(self, placed: Sequence[Group]) -> list[Group]:
        """The most worthy, no two alike."""
        best: list[Group] = []
        for one in sorted(placed, key=lambda one: (-one.worth, one.members)):
            if len(best) == self.most:
                break
            if not any(self._alike(frozenset(one.members), frozenset(other.members)) for other in best):
                best.append(one)
        return best

    def _placed(self, one: _Found) -> Group:
        members = tuple(sorted(one.members, key=lambda k: (-self.areas[k], k)))
        shape = Shape.around([self.corners[0], *(self.corners[k] for k in members)])
        placement = best_placement(shape, self.opening, self.arcs, rounds=PLACE_ROUNDS)
        return Group(members, one.area, placement, one.area * placement.room)

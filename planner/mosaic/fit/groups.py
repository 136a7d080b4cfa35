"""Which sets of things fit one field together with a first one: the best of them, none missed.

What a set needs of a field at an angle is the largest that any of its members needs on each side, so margins of sets
are bounded from their supports alone, in the tangent planes of a few cells of centres (`cells.py`).

Sets are worth the area that they bring in times the margin that remains. A set that leaves out a thing which would
cost no margin is worth less than with it, and is no group. The search is best first: cells are cut into quarters,
and in small ones sets are grown with and without one thing after the other, always where the most can be hoped for.
A set whose turn comes is placed exactly; when its turn comes again no other can be worth more, and it is the next of
the best, unless it is like one that is already there. What can only be like those there is not grown.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import count

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.geometry import sky_basis, vector_to_plane
from planner.progress import Progress, silent

from .best import Arc, Placement, best_placement, placement_near
from .cells import Cell, Supports, Things
from .closely import closely, hull_of, open_margins, sides_at
from .opening import Opening
from .shape import Shape

__all__ = ["Group", "GroupSearch", "find_groups"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
ALIKE = 0.15
"""Sets that differ by less than this part of the larger one's area are alike."""
FREE = 1e-7
"""Radians (0.02 arc seconds): a thing that costs no more margin costs none."""
MOST_SETS = 3_000_000
"""The search ends after looking at so many, and says so."""
HALVINGS = 3
"""Cells are cut so often: chosen by trial on rich fields, for the least time."""
BLOCK = 8
"""So many angles are bounded at once."""
PLACE_ROUNDS = 5
"""Sets are ranked by placements right to 0.001 degrees."""
EVERY = 20
"""So many steps between two reports of progress."""


@dataclass(frozen=True)
class Group:
    """A set that fits, with its best placement.

    Parameters
    ----------
    members : tuple of int
        Which things are in, the first one left out, the largest first.
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
        The most worthy first, no two alike; each is the best there is next to those before it.
    candidates : int
        Things of which each fits together with the first one.
    looked_at : int
        Sets whose margin was bounded or found.
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
    partial: Callable[[Group], None] | None = None,
) -> GroupSearch:
    """Return the sets most worthy that fit a field together with the first thing.

    An interrupt from the keyboard ends the search with what it has.

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
    partial : callable, optional
        Gets each of the best as it is found, the most worthy first.
    """
    shapes = [Shape.around([one]) for one in things]
    search = _Search(shapes, np.asarray(areas, dtype=float), opening, most, arcs)
    try:
        search.run(progress or silent, partial or (lambda group: None))
    except KeyboardInterrupt:
        search.complete = False
    return GroupSearch(tuple(search.best), search.candidates, search.looked_at, search.complete)


@dataclass(frozen=True, eq=False)
class _Node:
    """Sets in a cell: what is in all of them, what may be in, and what must not; things as the cell counts them."""

    cell: Cell
    members: Mask
    left: Mask


@dataclass(frozen=True, eq=False)
class _Set:
    """A set that may fit in a cell: all things in it, and whether its angles have been looked at closely."""

    members: Mask
    cell: Cell
    close: bool = False


@dataclass
class _Search:
    """Best first over cells, nodes, sets and placed groups, by the most that each can be worth."""

    shapes: Sequence[Shape]
    areas: Array
    opening: Opening
    most: int
    arcs: Sequence[Arc] | None
    looked_at: int = 0
    candidates: int = 0
    complete: bool = True
    best: list[Group] = field(default_factory=list)
    queue: list[tuple[float, int, Cell | _Node | _Set | Group]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.areas[0] = 0.0
        self.size = math.hypot(*self.opening.half)
        self.numbers = count()
        self.placed: dict[bytes, float] = {}
        self.chosen = np.zeros((0, len(self.areas)), dtype=bool)
        self.things = Things.of([one.corners for one in self.shapes])

    def run(self, progress: Progress, partial: Callable[[Group], None]) -> None:
        """Find the best."""
        root = Cell(self.things, self.opening, self.shapes[0].basis, (0.0, 0.0), self.size, self.arcs)
        self.candidates = self._count(root)
        if self.candidates:
            self._push(math.inf, root)
        for step in count():
            if not self.queue or len(self.best) == self.most:
                return
            if self.looked_at > MOST_SETS:
                self.complete = False
                return
            if step % EVERY == 0:
                progress(
                    f"{len(self.best)} groups, {self.looked_at:,} sets looked at", len(self.best) / self.most
                )
            known = len(self.best)
            self._step()
            if len(self.best) > known:
                partial(self.best[-1])

    def _count(self, root: Cell) -> int:
        """Count the things that fit together with the first one; what the plane leaves open is placed."""
        if 0 not in root.near:
            return 0
        first = root.supports[root.near == 0]
        margins = root.margins(np.maximum(first, root.supports)).max(axis=1)
        self.looked_at += len(margins)
        sure = margins - root.slack >= 0
        open_ = root.near[~sure & (margins + root.slack >= 0)]
        fits = {int(k) for k in root.near[sure]} | {int(k) for k in open_ if self._exact([int(k)]).room >= 0}
        return len(fits - {0})

    def _push(self, worth: float, what: Cell | _Node | _Set | Group) -> None:
        if worth > 0:
            heapq.heappush(self.queue, (-worth, next(self.numbers), what))

    def _step(self) -> None:
        worth, _, what = heapq.heappop(self.queue)
        if isinstance(what, Group):
            self._choose(what)
        elif isinstance(what, _Set):
            self._look(what)
        elif isinstance(what, _Node):
            self._grow(what, -worth)
        elif what.half > self.size / 2**HALVINGS:
            self._cut(what, -worth)
        else:
            self._grow(self._all_of(what), -worth)

    def _all_of(self, cell: Cell) -> _Node:
        first = cell.near == 0
        return _Node(cell, first, ~first)

    def _cut(self, cell: Cell, hope: float) -> None:
        """Bound what a cell can hold, and cut it."""
        node = self._all_of(cell)
        if node.members.any():
            _, margins = self._with_each(node, node.left)
            hope = min(hope, self._hope(node, node.left, margins))
            for part in cell.parts():
                self._push(hope, part)

    def _with_each(self, node: _Node, others: Mask) -> tuple[Supports, Supports]:
        """Supports of a node's members, and margins with each of some others, shapes (4, A) and (K, A)."""
        cell = node.cell
        support = cell.supports[node.members].max(axis=0)
        self.looked_at += int(others.sum())
        return support, cell.margins(np.maximum(support, cell.supports[others]))

    def _grow(self, node: _Node, hope: float) -> None:
        """Take in what costs nothing, keep the set, and go on with and without its next member."""
        cell = node.cell
        if not node.members.any():
            return
        support, margins = self._with_each(node, ~node.members)
        own = cell.margins(support)
        others = np.flatnonzero(~node.members)
        joins = cell.held(support, cell.supports[others], own)
        if not node.left[others[joins]].all():
            return
        members, left = node.members.copy(), node.left.copy()
        members[others[joins]] = True
        left[others[joins | (margins.max(axis=1) + cell.slack < 0)]] = False
        node = _Node(cell, members, left)
        self._keep(node, hope)
        if not left.any() or self._all_alike(node):
            return
        hope = min(hope, self._hope(node, left, margins[left[others]]))
        largest = np.zeros(len(left), dtype=bool)
        largest[np.flatnonzero(left)[self.areas[cell.near[left]].argmax()]] = True
        self._push(hope, _Node(cell, members | largest, left & ~largest))
        self._push(hope, _Node(cell, members, left & ~largest))

    def _keep(self, node: _Node, hope: float) -> None:
        """Queue a node's own set."""
        cell = node.cell
        members = self._everywhere(cell, node.members)
        if members.tobytes() in self.placed:
            return
        top = float(cell.margins(cell.supports[node.members].max(axis=0)).max())
        self._push(min(hope, self._area(members) * (top + cell.slack)), _Set(members, cell))

    def _everywhere(self, cell: Cell, members: Mask) -> Mask:
        every = np.zeros(len(self.areas), dtype=bool)
        every[cell.near[members]] = True
        return every

    def _hope(self, node: _Node, left: Mask, margins: Supports) -> float:
        """Most that any set can be worth that is like none of the best.

        At an angle and with some margin a set holds no more than the things that leave it each. A set that is like
        a group differs from it by less than ALIKE of the group's area; one that is not, and brings in o beside it,
        has an area of at most 2 o + (1 - ALIKE) of the group's.

        Parameters
        ----------
        node : _Node
        left : ndarray of bool
            What may join its members.
        margins : ndarray, shape (K, A)
            With each of these.
        """
        if not len(margins):
            return 0.0
        cell, rows = node.cell, self.areas[node.cell.near]
        starts = np.arange(0, margins.shape[1], BLOCK)
        blocks = np.maximum.reduceat(margins, starts, axis=1)
        order = np.argsort(-blocks, axis=0)
        ranked = np.take_along_axis(blocks, order, axis=0) + cell.slack
        joins = rows[left][order]
        areas = rows[node.members].sum() + np.cumsum(joins, axis=0)
        for group in self.chosen:
            inside = group[cell.near]
            beside = (rows * ~inside)[left][order]
            most = rows[node.members & ~inside].sum() + np.cumsum(beside, axis=0)
            areas = np.minimum(areas, 2 * most + (1 - ALIKE) * self._area(group))
        return float((areas * np.maximum(ranked, 0)).max())

    def _all_alike(self, node: _Node) -> bool:
        """Whether all that grows from a node is like one of the best."""
        if not len(self.best):
            return False
        members = self._everywhere(node.cell, node.members)
        left = self._everywhere(node.cell, node.left)
        return self._alike((self.chosen ^ members) | left, members)

    def _area(self, members: Mask) -> float:
        return float(self.areas @ members)

    def _like_best(self, members: Mask) -> bool:
        return self._alike(self.chosen ^ members, members)

    def _alike(self, differing: Mask, members: Mask) -> bool:
        """Whether a set is like one of the best, from which these differ."""
        limit = ALIKE * np.maximum(self.chosen @ self.areas, self._area(members))
        return bool((differing @ self.areas < limit).any())

    def _look(self, one: _Set) -> None:
        """Look closely at a set, then place it exactly, unless it is like one of the best, which is worth no less."""
        if self._like_best(one.members) or one.members.tobytes() in self.placed:
            return
        area = self._area(one.members)
        if not one.close:
            most = closely(self._corners(one.members), one.members, one.cell)
            self._push(area * most, _Set(one.members, one.cell, close=True))
            return
        members = sorted(map(int, np.flatnonzero(one.members)[1:]), key=lambda k: (-self.areas[k], k))
        placement = self._placed(one) if self.arcs is None else self._exact(members)
        self.placed[one.members.tobytes()] = placement.room
        self._push(area * placement.room, Group(tuple(members), area, placement, area * placement.room))

    def _corners(self, members: Mask) -> Array:
        return np.concatenate([self.shapes[k].corners for k in np.flatnonzero(members).tolist()])

    def _exact(self, members: Sequence[int]) -> Placement:
        shape = Shape.around([self.shapes[k].corners for k in (0, *members)])
        return best_placement(shape, self.opening, self.arcs, rounds=PLACE_ROUNDS)

    def _placed(self, one: _Set) -> Placement:
        """Place a set at those of all angles that can be its best ones."""
        cell = one.cell
        corners = hull_of(self._corners(one.members), cell.basis)
        supports = Things.of([corners]).supports(np.array([0]), cell.basis)[0]
        margins, slack = open_margins(supports[cell.sides], self.opening, self.size)
        good = np.flatnonzero(margins + slack >= (margins - slack).max())
        angles = cell.angles_rad[good]
        return placement_near(
            corners, self.opening, cell.basis, angles, reach=cell.reach, rounds=PLACE_ROUNDS
        )

    def _choose(self, group: Group) -> None:
        """Take a group among the best, unless it is like one of them or another thing could join at no cost."""
        members = np.zeros(len(self.areas), dtype=bool)
        members[[0, *group.members]] = True
        if self._like_best(members) or self._joined(group, members):
            return
        self.best.append(group)
        self.chosen = np.concatenate([self.chosen, members[None]])

    def _joined(self, group: Group, members: Mask) -> bool:
        """Whether some other thing joins a group at no cost of margin."""
        basis, least = sky_basis(*group.placement.center_deg, 0.0), group.placement.room - FREE
        about = Cell(self.things, self.opening, basis, (0.0, 0.0), self.size, self.arcs)
        angles = about.angles_rad
        support = sides_at(vector_to_plane(hull_of(self._corners(members), basis), basis), angles)
        margins, slack = open_margins(support, self.opening, self.size)
        good = margins + slack >= least
        for k in about.near[~members[about.near]].tolist():
            plane = vector_to_plane(self.shapes[k].corners, basis)
            both = np.maximum(support[:, good], sides_at(plane, angles[good]))
            margins, slack = open_margins(both, self.opening, self.size)
            if (margins + slack >= least).any() and self._exact([*group.members, k]).room >= least:
                return True
        return False

"""Groups of nebulae that fit one frame together: for each of some size the best about it, none missed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.answers.fit import HOLDS
from planner.answers.fit_around import NO_NEBULAE
from planner.geometry import vector_to_plane
from planner.halves import in_halves
from planner.mosaic.fit import Opening, Shape
from planner.mosaic.fit.each_best import best_of_each
from planner.mosaic.fit.shapes import shapes_around
from planner.progress import Progress
from planner.rig.reachable_arcs import arcs_rad

from .frames import Framed, Framing, frames_of
from .sky import Thing

__all__ = ["LEAST_SHARE", "FoundGroup", "find_all_groups"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
LEAST_SHARE = 1 / 3
"""Members are at least so large, share of the frame's short side."""
DIRECTIONS = 360
FAR = 1e6
"""Tangent plane: where corners stand that lie 90 degrees away or more."""
BENT = 3.0
"""Of the cubed half diagonal: by so much margins in a plane may be off."""
MOST_SETS = 20_000
"""About one nebula so many sets are looked at; beyond, the largest members alone are tried together."""
MOST_PLACED = 12
"""So many of the most promising sets about one nebula are placed exactly."""


@dataclass(frozen=True, eq=False)
class FoundGroup:
    """Nebulae that fit one frame together.

    Parameters
    ----------
    members : tuple of Thing
        The largest first.
    framed : Framed
    """

    members: tuple[Thing, ...]
    framed: Framed

    @property
    def area_deg2(self) -> float:
        """Sum of the members' areas."""
        return sum(one.area_deg2 for one in self.members)


def find_all_groups(
    things: Sequence[Thing], framing: Framing, *, progress: Progress | None = None
) -> tuple[tuple[FoundGroup, ...], str]:
    """Return for each thing the group most worthy in which it is the largest, and which groups were looked for.

    Worth is the area that the others bring in times the margin that remains, as for `fit_around`. What lies inside
    the largest is no member, and what is smaller than a third of the frame's short side is left aside.

    Parameters
    ----------
    things : sequence of Thing
        Of which each fits the frame by itself.
    framing : Framing
    progress : callable, optional
    """
    opening = Opening.margins(framing.field)
    least_arcmin = LEAST_SHARE * 60.0 * min(framing.field.width_deg, framing.field.height_deg)
    large = [
        one for one in things if one.diameter_arcmin >= least_arcmin and one.nebula.kind not in NO_NEBULAE
    ]
    large.sort(key=lambda one: (-one.shape.radius_rad, one.nebula.index))
    hopeful, complete = [], True
    for number, (first, others) in enumerate(_neighbours(large, opening)):
        if progress is not None:
            progress("looking for groups", number / len(large))
        sets, all_of_them = _sets_about(large, first, others, opening)
        hopeful += [(first, *members) for members in sets]
        complete &= all_of_them
    best = _best_of_each(large, hopeful, opening, framing)
    frames = frames_of([shape for _, shape in best], framing)
    groups = tuple(
        FoundGroup(tuple(large[k] for k in members), framed)
        for (members, _), framed in zip(best, frames, strict=True)
    )
    note = (
        f"of nebulae of {least_arcmin:.0f} arc minutes or more, for each the best in which it is the largest"
    )
    return groups, note if complete else f"{note}; in crowded places some sets were left out"


def _neighbours(large: Sequence[Thing], opening: Opening) -> Iterator[tuple[int, Index]]:
    """Yield each thing that has smaller ones beside it with these: near enough for a frame's diagonal."""
    if len(large) < 2:
        return
    middles = np.stack([one.shape.basis[2] for one in large])
    radii = np.array([one.shape.radius_rad for one in large])
    reach = 2 * math.atan(math.hypot(*opening.half))
    for first in range(len(large) - 1):
        rest = np.arange(first + 1, len(large))
        apart = np.arccos(np.clip(middles[rest] @ middles[first], -1.0, 1.0))
        others = rest[apart + radii[rest] + radii[first] <= reach]
        if len(others):
            yield first, others


def _sets_about(
    large: Sequence[Thing], first: int, others: Index, opening: Opening
) -> tuple[list[tuple[int, ...]], bool]:
    """Return the sets of others that may be the most worthy about the first, and whether all were looked at."""
    supports = _supports([large[k].shape for k in (first, *others)], large[first].shape)
    outside = (supports[1:] > supports[0] + 1e-9).any(axis=1)
    others, supports = others[outside], np.concatenate([supports[:1], supports[1:][outside]])
    areas = np.array([large[k].area_deg2 for k in others])
    size = math.hypot(*opening.half)
    slack = BENT * size**3 + size * math.pi / DIRECTIONS
    found = _grown(supports[0], supports[1:], areas, opening, slack)
    return [tuple(others[list(members)].tolist()) for members in found[0]], found[1]


def _supports(shapes: Sequence[Shape], about: Shape) -> Array:
    """How far each shape reaches in every direction of the plane about one of them, shape (S, DIRECTIONS)."""
    ahead = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    flat = vector_to_plane(np.concatenate([one.corners for one in shapes]), about.basis)
    starts = np.cumsum([0, *(len(one.corners) for one in shapes[:-1])])
    reach = np.nan_to_num(flat, nan=FAR) @ np.stack([np.cos(ahead), np.sin(ahead)])
    return np.asarray(np.maximum.reduceat(reach, starts, axis=0))


def _margins(supports: Array, opening: Opening) -> Array:
    """Largest margin of sets in the plane, over all angles, shape (S,)."""
    half = DIRECTIONS // 2
    wide = supports[:, :half] + supports[:, half:]
    high = np.roll(wide, -half // 2, axis=1)
    rooms = np.minimum(opening.half[0] - wide / 2, opening.half[1] - high / 2)
    return np.asarray(rooms.max(axis=1))


def _grown(
    first: Array, others: Array, areas: Array, opening: Opening, slack: float
) -> tuple[list[tuple[int, ...]], bool]:
    """Grow sets member by member, all of one size at once; a set that is too large has no larger one that fits."""
    members: list[tuple[int, ...]] = [()]
    supports, kept, looked_at = first[None], [], 0
    while members:
        grown = [(*one, k) for one in members for k in range(one[-1] + 1 if one else 0, len(others))]
        looked_at += len(grown)
        if not grown or looked_at > MOST_SETS:
            break
        parent = [
            row for row, one in enumerate(members) for _ in range(one[-1] + 1 if one else 0, len(others))
        ]
        supports = np.maximum(supports[parent], others[[one[-1] for one in grown]])
        margins = _margins(supports, opening)
        fits = np.flatnonzero(margins >= -slack)
        members, supports = [grown[k] for k in fits], supports[fits]
        kept += [(one, float(margin)) for one, margin in zip(members, margins[fits], strict=True)]
    return _hopeful(kept, areas, slack), looked_at <= MOST_SETS


def _hopeful(
    kept: Iterable[tuple[tuple[int, ...], float]], areas: Array, slack: float
) -> list[tuple[int, ...]]:
    """Return the sets that may be worth the most, the most promising first."""
    rows = [(areas[list(members)].sum(), margin, members) for members, margin in kept]
    least = max((area * max(0.0, margin - slack) for area, margin, _ in rows), default=0.0)
    may = [
        (area * (margin + slack), members)
        for area, margin, members in rows
        if area * (margin + slack) >= least
    ]
    return [members for _, members in sorted(may, key=lambda one: (-one[0], one[1]))[:MOST_PLACED]]


def _best_of_each(
    large: Sequence[Thing], sets: Sequence[tuple[int, ...]], opening: Opening, framing: Framing
) -> list[tuple[tuple[int, ...], Shape]]:
    """Place sets exactly and return the most worthy of those with the same first, with their shapes."""
    shapes = shapes_around([[large[k].shape.corners for k in members] for members in sets]) if sets else ()
    held = [(members, shape) for members, shape in zip(sets, shapes, strict=True) if shape is not None]
    allowed = arcs_rad(framing.arcs_deg)
    best: dict[int, tuple[float, tuple[int, ...], Shape]] = {}
    placed = in_halves(
        lambda some, here: list(best_of_each(some, opening, allowed)), [shape for _, shape in held], least=200
    )
    for (members, shape), one in zip(held, placed, strict=True):
        room = one.placement.room
        worth = room * sum(large[k].area_deg2 for k in members[1:])
        if room >= HOLDS and (members[0] not in best or worth > best[members[0]][0]):
            best[members[0]] = worth, members, shape
    return [(members, shape) for _, members, shape in best.values()]

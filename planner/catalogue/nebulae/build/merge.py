"""Which entries are one object: names, places and sizes must agree together.

Two entries are candidates where one names the other, where they share a name, or where their circles overlap by
half. They become one only where the smaller centre lies well inside the larger circle and the sizes are alike;
two entries of one table never become one. The closest pairs go first.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from planner.geometry import separation_rad

from .entries import Entry
from .known import NOT_SAME, TOGETHER

__all__ = ["merged"]

Pair = tuple[str, str]

CRUDE_ARCMIN = {"Sh2": 15.0, "LBN": 12.0, "Ced": 10.0, "RCW": 8.0, "Gum": 8.0, "OpenNGC": 10.0}
"""How far centres of one nebula may lie apart whatever its size: what the tables' places are worth."""
FINE_ARCMIN = 4.0
INSIDE = 0.5
"""Centres must be nearer than this share of the larger axis."""
LIKE, REMOTELY_LIKE = 3.0, 7.0
"""Largest ratio of axes of a pair that is joined, and of any two members of an object."""
BY_PLACE = 0.5
"""Entries that no name joins are one object where their circles overlap by this share of their union."""
WIDEST_PAIR_DEG = 2.0
STARS = re.compile(r"(HD|BD|CPD|McD|V\*|\*) ?")


def merged(entries: dict[str, Entry], hints: dict[Pair, float]) -> list[list[str]]:
    """Group entries into objects.

    Parameters
    ----------
    entries : dict
    hints : dict
        Pairs that share an outline, with how well both fit it, in [0, 1].

    Returns
    -------
    list of list of str
        Names of entries, each object's in order.
    """
    named = _named_pairs(entries)
    scores = {pair: _likeness(entries, pair) + 0.5 for pair in named}
    scores.update(_place_pairs(entries, set(named)))
    for pair, fit in hints.items():
        scores[pair] = max(scores.get(pair, 0.0), 1.0 + fit)
    group = {name: {name} for name in entries}
    for pair in map(_pair, TOGETHER):
        _join(group, pair)
    for pair in sorted(scores, key=lambda pair: (-scores[pair], pair)):
        one, other = group[pair[0]], group[pair[1]]
        if one is not other and _agree(entries, pair, LIKE) and _may_join(entries, one, other, named):
            _join(group, pair)
    return sorted(sorted(names) for names in {id(names): names for names in group.values()}.values())


def _pair(names: tuple[str, str]) -> Pair:
    first, second = sorted(names)
    return first, second


def _join(group: dict[str, set[str]], pair: Pair) -> None:
    whole = group[pair[0]] | group[pair[1]]
    for name in whole:
        group[name] = whole


def _named_pairs(entries: dict[str, Entry]) -> set[Pair]:
    """Pairs of which one names the other, or that share a name that is no star's."""
    owner = {name: name for name in entries}
    for entry in entries.values():
        if entry.catalogue == "OpenNGC":
            owner.update({name: entry.name for name in entry.names if name[:2] in ("M ", "NG", "IC", "C ")})
    pairs, sharing = set(), defaultdict(set)
    for entry in entries.values():
        for name in entry.names:
            target = owner.get(name)
            if target is None and not STARS.match(name):
                sharing[name.casefold()].add(entry.name)
            elif target not in (None, entry.name):
                pairs.add(_pair((entry.name, str(target))))
    for names in sharing.values():
        pairs.update(map(_pair, itertools.combinations(names, 2)))
    return pairs


def _place_pairs(entries: dict[str, Entry], named: set[Pair]) -> Iterator[tuple[Pair, float]]:
    """Pairs of like kind that no name joins but whose circles overlap."""
    from scipy.spatial import cKDTree

    names = list(entries)
    tree = cKDTree(np.array([entries[name].vector for name in names]))
    for first, second in sorted(tree.query_pairs(math.radians(WIDEST_PAIR_DEG))):
        pair = _pair((names[first], names[second]))
        one, other = entries[pair[0]], entries[pair[1]]
        if pair in named or one.catalogue == other.catalogue or not _like_kinds(one, other):
            continue
        if (share := _likeness(entries, pair)) >= BY_PLACE:
            yield pair, share


def _like_kinds(one: Entry, other: Entry) -> bool:
    kinds = {one.kind, other.kind}
    rough = {"emission", "reflection", "nebula"}
    return len(kinds) == 1 or (
        kinds <= rough and bool({one.catalogue, other.catalogue} & {"LBN", "Ced", "OpenNGC"})
    )


def _distance_arcmin(one: Entry, other: Entry) -> float:
    return math.degrees(float(separation_rad(one.vector, other.vector))) * 60


def _likeness(entries: dict[str, Entry], pair: Pair) -> float:
    """Overlap of two circles of the entries' areas over their union; 0.3 where a size is unknown."""
    one, other = entries[pair[0]], entries[pair[1]]
    if not one.usable_arcmin or not other.usable_arcmin:
        return 0.3
    r, s = (math.sqrt(item.major_arcmin * item.minor_arcmin) / 2 for item in (one, other))  # type: ignore[operator]
    return circle_overlap(r, s, _distance_arcmin(one, other))


def circle_overlap(r: float, s: float, distance: float) -> float:
    """Intersection over union of two circles."""
    if distance >= r + s:
        return 0.0
    if distance <= abs(r - s):
        return (min(r, s) / max(r, s)) ** 2
    x = (distance**2 + r**2 - s**2) / (2 * distance)
    common = (
        r**2 * math.acos(x / r)
        + s**2 * math.acos((distance - x) / s)
        - distance * math.sqrt(max(0.0, r**2 - x**2))
    )
    return common / (math.pi * (r**2 + s**2) - common)


def _agree(entries: dict[str, Entry], pair: Pair, ratio: float) -> bool:
    """Whether place and size of two entries allow that they are one object."""
    one, other = entries[pair[0]], entries[pair[1]]
    sizes = [item.usable_arcmin for item in (one, other) if item.usable_arcmin]
    reach = max(CRUDE_ARCMIN.get(item.catalogue, FINE_ARCMIN) for item in (one, other))
    if _distance_arcmin(one, other) > max(reach, INSIDE * max(sizes, default=0.0)):
        return False
    if len(sizes) < 2 or "OpenNGC" in (one.catalogue, other.catalogue):
        return True
    return max(sizes) <= ratio * max(min(sizes), reach / 3)


def _may_join(entries: dict[str, Entry], one: set[str], other: set[str], named: set[Pair]) -> bool:
    """Whether no two members forbid it: of one table, or too unlike."""
    for first in one:
        for second in other:
            pair = _pair((first, second))
            if pair in FORBIDDEN:
                return False
            if entries[first].catalogue == entries[second].catalogue:
                if entries[first].catalogue != "OpenNGC" or not _twins(entries, pair, one | other, named):
                    return False
            elif not _agree(entries, pair, REMOTELY_LIKE):
                return False
    return True


FORBIDDEN = {_pair(names) for names in NOT_SAME}


def _twins(entries: dict[str, Entry], pair: Pair, names: set[str], named: set[Pair]) -> bool:
    """Whether two numbers of OpenNGC are one object: they cover each other, or a table's entry names both."""
    if _likeness(entries, pair) >= BY_PLACE and all(entries[name].usable_arcmin for name in pair):
        return True
    return any(
        entries[name].catalogue != "OpenNGC" and all(_pair((name, number)) in named for number in pair)
        for name in names
    )

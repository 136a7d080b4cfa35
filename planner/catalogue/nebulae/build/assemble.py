"""From groups of entries and outlines to nebulae, and from names to nebulae."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.geometry import (
    plane_to_vector,
    separation_rad,
    sky_basis,
    sky_to_vector,
    vector_to_plane,
    vector_to_sky,
)

from ..nebula import LEVELS, Nebula, NebulaSize
from ..spelling import catalogue_number, index_keys, loose_keys
from .entries import Entry, outlines
from .known import BAD_SIZES, EXPANDED, NOTED_SIZES, OUTLINE_OF

__all__ = ["complex_entries", "name_index", "nebulae_of", "outline_hints", "outline_polygons", "owners"]

Ring = NDArray[np.float64]

NAME_ORDER = ("M", "NGC", "IC", "Sh2", "RCW", "Gum", "vdB", "vdBH", "B", "LDN", "LBN", "Ced", "SNR", "C")
"""Which designation a nebula goes by."""

SIZE_ORDER = {
    "emission": ("Sh2", "RCW", "Gum", "LBN", "Ced", "vdB", "vdBH"),
    "reflection": ("vdB", "vdBH", "Ced", "LBN", "Sh2", "RCW", "Gum"),
    "dark": ("Barnard", "LDN", "LBN"),
    "supernova remnant": ("SNR", "Sh2", "LBN", "RCW", "Gum", "Ced"),
}
"""Catalogues made for each kind, the first that has a size is taken; OpenNGC comes after all of them."""
SIZE_ORDER["nebula"] = SIZE_ORDER["emission"]

KIND_ORDER = ("Sh2", "RCW", "Gum", "Barnard", "LDN", "vdB", "vdBH", "LBN", "Ced", "OpenNGC", "outline")
SOURCE_NAMES = {"Sh2-": "Sharpless ", "B ": "Barnard "}
CLEAR_FIT = 0.2
"""An outline whose overlap with an entry of its own name is at least this belongs to that entry."""


def complex_entries() -> list[Entry]:
    """Entries for outlines that stand under the name of a constellation: whole complexes."""
    found = []
    for key, item in outlines().items():
        if re.search(r"\d", key) or key in OUTLINE_OF:
            continue
        words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", item["label"])
        center, _ = _middle(
            np.concatenate([ring for level in item["levels"].values() for ring in _rings(level)])
        )
        names = (words,) if words == item["label"] else (words, item["label"])
        found.append(
            Entry(
                f"{words} complex",
                "outline",
                sky_to_vector(*center),
                *center,
                None,
                None,
                "complex",
                names,
                (),
            )
        )
    return found


def _middle(points_deg: Ring) -> tuple[tuple[float, float], float]:
    """Centre of the box about points in a tangent plane, and the largest distance from it, radians."""
    vectors = sky_to_vector(points_deg[:, 0], points_deg[:, 1])
    mean = vectors.mean(axis=0)
    ra_deg, dec_deg = vector_to_sky(mean / np.linalg.norm(mean))
    basis = sky_basis(ra_deg, dec_deg, 0.0)
    flat = vector_to_plane(vectors, basis)
    middle = plane_to_vector((flat.max(axis=0) + flat.min(axis=0)) / 2, basis)
    ra_deg, dec_deg = vector_to_sky(middle)
    center = (round(float(ra_deg), 4), round(float(dec_deg), 4))
    return center, float(separation_rad(vectors, middle).max())


def _rings(level: Sequence[Sequence[Any]]) -> list[Ring]:
    """Rings of one level without the closing point, shape (N, 2), degrees."""
    return [np.asarray(ring, dtype=float)[:-1] for polygon in level for ring in polygon]


def outline_polygons(key: str) -> dict[str, list[Ring]]:
    """Rings of an outline by the names of its levels, the faintest first."""
    levels = outlines()[key]["levels"]
    return {LEVELS[int(number) - 1]: _rings(levels[number]) for number in sorted(levels)}


def owners(entries: dict[str, Entry]) -> dict[str, str]:
    """Entry of every number that is an entry of its own, OpenNGC's duplicates and Messier numbers included."""
    found: dict[str, str] = {}
    for entry in entries.values():
        if entry.catalogue == "OpenNGC":
            for name in entry.names:
                if re.match(r"(M|NGC|IC|C) \d", name):
                    found.setdefault(name, entry.name)
    found.update({name: name for name in entries})
    return found


def outline_entry(key: str, entries: dict[str, Entry]) -> str:
    """Entry that an outline stands for."""
    label = OUTLINE_OF.get(key, outlines()[key]["label"])
    own = owners(entries)
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", label)
    return own.get(label) or own[f"{words} complex"]


def outline_hints(entries: dict[str, Entry]) -> dict[tuple[str, str], float]:
    """Pairs of an outline's own entry and one that bears its name and fits it."""
    hints = {}
    for key, item in outlines().items():
        own = outline_entry(key, entries)
        for other in item["same_as"]:
            name = re.sub(r"^Barnard ", "B ", other["object"])
            if other["by_name"] and other["overlap"] >= CLEAR_FIT and name in entries and name != own:
                first, second = sorted((own, name))
                hints[first, second] = float(other["overlap"])
    return hints


def nebulae_of(
    groups: Sequence[Sequence[str]], entries: dict[str, Entry]
) -> tuple[list[Nebula], dict[str, int]]:
    """Nebulae of the groups in the order of their names, and to which of them each entry belongs."""
    by_entry: dict[str, str] = {}
    for key in outlines():
        name = outline_entry(key, entries)
        assert name not in by_entry, f"{key} and {by_entry[name]} are both outlines of {name}"
        by_entry[name] = key
    made = []
    for group in groups:
        keys = [by_entry[name] for name in group if name in by_entry]
        assert len(keys) < 2, f"two outlines for one nebula: {keys}"
        made.append((_nebula([entries[name] for name in group], keys[0] if keys else ""), group))
    made.sort(key=lambda pair: _name_rank(pair[0].name))
    nebulae = [replace(nebula, index=index) for index, (nebula, _) in enumerate(made)]
    return nebulae, {name: index for index, (_, group) in enumerate(made) for name in group}


def _name_rank(name: str) -> tuple[int, int, str]:
    prefix = re.match(r"[A-Za-z]+2?(?=[ -])", name)
    number = re.search(r"\d+(?=\D*$)", name)
    place = NAME_ORDER.index(prefix[0]) if prefix and prefix[0] in NAME_ORDER and number else len(NAME_ORDER)
    return place, int(number[0]) if number else 0, name


def _nebula(members: list[Entry], outline_key: str) -> Nebula:
    kind = _kind(members)
    sizes = tuple(_size(entry) for entry in sorted(members, key=lambda entry: _size_rank(entry, kind)))
    numbers = {entry.name.removeprefix("OpenNGC ") for entry in members if entry.kind != "complex"}
    tables_first = sorted(members, key=lambda entry: (entry.catalogue == "OpenNGC", _size_rank(entry, kind)))
    given = [name for entry in tables_first for name in entry.names]
    own = {
        name for entry in members if entry.catalogue == "OpenNGC" for name in entry.names if _is_number(name)
    }
    numbers |= own
    label = outlines()[outline_key]["label"] if outline_key else ""
    words = [name for name in dict.fromkeys([*given, label]) if name and not re.search(r"\d", name)]
    rest = sorted({name for name in given if re.search(r"\d", name)} - numbers, key=_name_rank)
    ordered = sorted(numbers, key=_name_rank)
    name = ordered[0] if ordered else members[0].name
    levels = outline_polygons(outline_key) if outline_key else {}
    best = _centred(name, sizes)
    center = (best.ra_deg, best.dec_deg) if best else (members[0].ra_deg, members[0].dec_deg)
    if levels and not best:
        center = _middle(np.concatenate(next(iter(levels.values()))))[0]
    return Nebula(
        0,
        name,
        tuple(dict.fromkeys([name, *words, *ordered[1:], *rest])),
        kind,
        *center,
        sizes,
        tuple(dict.fromkeys(near for entry in members for near in entry.near)),
        tuple(levels),
        tuple(round(sum(map(_area_deg2, rings)), 4) for rings in levels.values()),
        outline_key,
    )


def _centred(name: str, sizes: Sequence[NebulaSize]) -> NebulaSize | None:
    """Entry whose place is the nebula's: OpenNGC's of a Messier object, else that of the size that is taken."""
    known = [size for size in sizes if size.is_known]
    if name.startswith("M "):
        known.sort(key=lambda size: not size.source.startswith("OpenNGC"))
    return known[0] if known else None


def _is_number(name: str) -> bool:
    return bool(re.match(r"(M|NGC|IC|C) \d", name))


def _kind(members: Iterable[Entry]) -> str:
    by_catalogue = {entry.catalogue: entry.kind for entry in members}
    if len(by_catalogue) > 1 and by_catalogue.get("OpenNGC") == "supernova remnant":
        del by_catalogue["OpenNGC"]
    if "supernova remnant" in by_catalogue.values():
        return "supernova remnant"
    if "planetary nebula" in by_catalogue.values():
        return "planetary nebula"
    return next(by_catalogue[name] for name in KIND_ORDER if name in by_catalogue)


def _size_rank(entry: Entry, kind: str) -> int:
    order = SIZE_ORDER.get(kind, ())
    if entry.catalogue == "OpenNGC":
        return len(order) + 1 if order else -1
    return order.index(entry.catalogue) if entry.catalogue in order else len(order)


def _size(entry: Entry) -> NebulaSize:
    doubt = BAD_SIZES.get(entry.name, NOTED_SIZES.get(entry.name, ""))
    source = entry.name
    for short, full in SOURCE_NAMES.items():
        source = source.replace(short, full, 1) if source.startswith(short) else source
    if entry.catalogue == "OpenNGC":
        source = f"OpenNGC ({entry.name.removeprefix('OpenNGC ')})"
    return NebulaSize(
        source,
        entry.ra_deg,
        entry.dec_deg,
        entry.major_arcmin,
        entry.minor_arcmin,
        doubt,
        entry.name in BAD_SIZES,
        entry.position_angle_deg,
    )


def _area_deg2(ring: Ring) -> float:
    """Area of a ring on the sky, square degrees: great circles are straight in a tangent plane."""
    from planner.mosaic.region import Region

    vectors = sky_to_vector(ring[:, 0], ring[:, 1])
    return Region.from_vectors(vectors).area_deg2


def name_index(
    nebulae: Sequence[Nebula], members: dict[str, int], entries: dict[str, Entry]
) -> dict[str, tuple[tuple[int, ...], bool]]:
    """Nebulae of every key, and whether they are meant together (a bare number of lettered entries).

    A number belongs to its own entry. Another name that several nebulae bear belongs to the largest of them,
    where the others lie inside it; else to all of them.
    """
    taken: dict[str, int] = {}
    for name, entry in owners(entries).items():
        if entry in members:
            taken.update({key: members[entry] for key in index_keys(name.removeprefix("OpenNGC "))})
    said: dict[str, set[int]] = defaultdict(set)
    loosely: dict[str, set[int]] = defaultdict(set)
    for nebula in nebulae:
        for name in (*nebula.names, *_abbreviated(nebula.names)):
            for key in index_keys(name):
                said[key].add(nebula.index)
            for key in loose_keys(name):
                loosely[key].add(nebula.index)
    found = {key: (_who(nebulae, sorted(who)), False) for key, who in {**loosely, **said}.items()}
    found |= {key: (who, True) for key, who in _bare_numbers(taken).items() if key not in taken}
    found |= {key: ((who,), False) for key, who in taken.items()}
    return {key: found[key] for key in sorted(found) if key}


def _abbreviated(names: Iterable[str]) -> Iterator[str]:
    """Yield names of stars as they are often written, of those that were spelt out."""
    for short, whole in EXPANDED.items():
        yield from (name.replace(whole, short) for name in names if whole in name)


def _who(nebulae: Sequence[Nebula], who: list[int]) -> tuple[int, ...]:
    """Return the nebula that holds all others, or all of them."""
    best = max(who, key=lambda item: (nebulae[item].largest_area_deg2, bool(nebulae[item].levels), -item))
    reach = max(nebulae[best].major_arcmin or 0.0, 10.0) / 2
    center = sky_to_vector(nebulae[best].ra_deg, nebulae[best].dec_deg)
    others = [nebulae[item] for item in who]
    far = [
        float(np.degrees(separation_rad(sky_to_vector(item.ra_deg, item.dec_deg), center))) * 60
        for item in others
    ]
    return (best,) if max(far) <= reach else tuple(who)


def _bare_numbers(taken: dict[str, int]) -> dict[str, tuple[int, ...]]:
    """Numbers of which a table has only lettered entries."""
    lettered: dict[str, list[int]] = defaultdict(list)
    for key, who in taken.items():
        number = catalogue_number(key)
        if number and number[0] in ("ced", "vdbh", "gum") and number[1][-1].isalpha():
            lettered[number[0] + number[1][:-1]].append(who)
    return {key: tuple(sorted(set(who))) for key, who in lettered.items()}

"""Which nebulae are asked for: by kind, constellation, catalogue, size, declination, name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache

from planner.catalogue.constellation import constellation_named, constellations_of
from planner.catalogue.nebulae import KINDS, Nebula, find_group, find_named
from planner.catalogue.nebulae.spelling import name_key
from planner.errors import InputError, UnknownObjectError, nearest_names

from .sky import Thing, all_things
from .wish import TargetWish

__all__ = ["narrowed"]

NUMBERED = re.compile(r"(sh[12]-|[a-z]+)[0-9]")
"""A catalogue and the first digit of its number, in the form that spellings of a name share."""


def narrowed(things: Sequence[Thing], wish: TargetWish) -> list[Thing]:
    """Return the things that a wish asks for, in their order.

    Raises
    ------
    InputError
        If a kind, constellation, catalogue or name is unknown.
    """
    left = list(things)
    if wish.kinds:
        kinds = {_kind(kind) for kind in wish.kinds}
        left = [one for one in left if one.nebula.kind in kinds]
    if wish.catalogues:
        catalogues = {_catalogue(text) for text in wish.catalogues}
        left = [one for one in left if catalogues & _catalogues_of(one.nebula)]
    if wish.names:
        indices = {index for name in wish.names for index in _indices(name)}
        left = [one for one in left if one.nebula.index in indices]
    if wish.size_arcmin is not None:
        low, high = wish.size_arcmin
        left = [one for one in left if low <= one.diameter_arcmin <= high]
    if wish.dec_deg is not None:
        low, high = wish.dec_deg
        left = [one for one in left if low <= one.nebula.dec_deg <= high]
    return _in_constellations(left, wish.constellations)


def _in_constellations(things: list[Thing], constellations: Iterable[str]) -> list[Thing]:
    wanted = {constellation_named(text) for text in constellations}
    if not wanted or not things:
        return things
    lie_in = constellations_of([one.nebula.ra_deg for one in things], [one.nebula.dec_deg for one in things])
    return [one for one, name in zip(things, lie_in, strict=True) if name in wanted]


def _kind(kind: str) -> str:
    if kind not in KINDS:
        hint = nearest_names(kind, KINDS) or f"; the kinds are {', '.join(KINDS)}"
        raise InputError(f"there is no kind {kind!r} of nebulae{hint}")
    return kind


def _catalogue(text: str) -> str:
    """Return the form that names of a catalogue begin with."""
    key = name_key(f"{text} 1")
    known = _catalogues()
    if not key.endswith("1") or key[:-1] not in known:
        shown = sorted(set(known.values()), key=str.casefold)
        hint = nearest_names(text, shown) or f"; names are in {', '.join(shown)}"
        raise InputError(f"no nebula has a name in a catalogue {text!r}{hint}")
    return key[:-1]


def _catalogues_of(nebula: Nebula) -> set[str]:
    return {match[1] for name in nebula.names if (match := NUMBERED.match(name_key(name)))}


@cache
def _catalogues() -> dict[str, str]:
    """Forms of all catalogues that number nebulae, to how they are written."""
    found: dict[str, str] = {}
    for thing in all_things():
        for name in thing.nebula.names:
            if match := NUMBERED.match(name_key(name)):
                written = re.match(r"(Sh2|[^\W\d]+(?: [^\W\d]+)*)", name)
                found.setdefault(match[1], written[0] if written else match[1])
    return found


def _indices(name: str) -> list[int]:
    """Return the indices of the nebulae that a name means."""
    group = find_group(name)
    if group:
        return [one.index for one in group]
    try:
        found = find_named(name)
    except UnknownObjectError as error:
        raise InputError(f"{error.what}; correct the name, or leave it out") from None
    if not isinstance(found, Nebula):
        raise InputError(f"{name!r} is no nebula of the catalogues; `fit` tells how any object fits a frame")
    return [found.index]

"""What nebula a name means; what to say where it means none or several."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from functools import cache

from planner.catalogue.objects import INSTEAD, CatalogueObject, common_names, find_object
from planner.errors import InputError, UnknownObjectError
from planner.geometry import separation_rad, sky_to_vector

from .data import all_nebulae
from .nebula import Nebula
from .spelling import catalogue_number, loose_key, name_key

__all__ = ["find_group", "find_named", "find_nebula", "names_like", "nebulae_named"]

RANGES = {
    "sh2-": ("Sh2-{}", 313),
    "lbn": ("LBN {}", 1125),
    "ldn": ("LDN {}", 1802),
    "b": ("Barnard {}", 370),
    "vdb": ("vdB {}", 158),
    "vdbh": ("vdBH {}", 93),
    "rcw": ("RCW {}", 182),
    "gum": ("Gum {}", 85),
    "ced": ("Ced {}", 215),
    "m": ("M {}", 110),
    "c": ("Caldwell {}", 109),
}
"""How entries of numbered catalogues are written, and their last numbers (the first is 1)."""

TOO_WIDE = {
    "gum": "the Gum Nebula is some 36 degrees across",
    "gum12": "the Gum Nebula (Gum 12) is some 36 degrees across",
    "coalsack": "the Coalsack is some 7 by 5 degrees wide",
    "c99": "the Coalsack (Caldwell 99) is some 7 by 5 degrees wide",
}
"""Nebulae of which no catalogue here has a usable entry, by the loose forms of their names."""

_NUMBERED = re.compile(r"\s*([^\W\d][^\d]*?)[\W_]*(\d{1,4})\s*")
"""What looks like the name of a catalogue and a number."""
SHORT_NAMES = {
    "m": "M ",
    "ngc": "NGC ",
    "ic": "IC ",
    "sh2": "Sh2-",
    "sharpless": "Sh2-",
    "rcw": "RCW ",
    "lbn": "LBN ",
    "ldn": "LDN ",
    "barnard": "Barnard ",
    "vdb": "vdB ",
    "gum": "Gum ",
    "ced": "Ced ",
    "caldwell": "Caldwell ",
    "messier": "M ",
}
"""How people begin the name of a numbered entry, for what a mistyped one may have meant."""
CLOSE, MOST_HINTS, LONGEST_SHOWN = 0.72, 3, 60
WIDEST_GROUP_DEG = 3.0
"""Lettered entries are one region where they lie no farther apart."""
SHORTEST_PART = 4
"""Letters from which on a piece of a name is a hint."""


def nebulae_named(name: str) -> tuple[tuple[Nebula, ...], bool]:
    """Look a name up in every spelling.

    Returns
    -------
    nebulae : tuple of Nebula
        Empty where no nebula has this name.
    together : bool
        Whether the name means all of them together: a bare number of which the catalogue has lettered entries.
    """
    nebulae = all_nebulae()
    for key in dict.fromkeys((name_key(name), loose_key(name))):
        indices, together = nebulae.with_key(key)
        if indices:
            return tuple(nebulae[index] for index in indices), together
    return (), False


def find_nebula(name: str) -> Nebula | None:
    """Return the nebula of a name; None where no nebula has it.

    Raises
    ------
    InputError
        If the name fits several nebulae, which the sentence lists, or is a number that its catalogue lacks.

    >>> find_nebula("the Wizard Nebula").name, find_nebula("ldn1622").kind, find_nebula("M 31")
    ('NGC 7380', 'dark', None)
    """
    if (text := TOO_WIDE.get(loose_key(name))) is not None:
        raise InputError(f"{text}, wider than a mosaic; give the center and the size of the part that you want")
    found, together = nebulae_named(name)
    if len(found) > 1:
        shown = ", ".join(map(_described, found[:12])) + (" and more" if len(found) > 12 else "")
        raise InputError(
            f"{_shown(name)} fits {'all of' if together else 'several'}: {shown}; name one of them"
        )
    if not found:
        _check_number(name)
    return found[0] if found else None


def find_group(name: str) -> tuple[Nebula, ...]:
    """Return the nebulae that a bare number means together, such as ``Ced 214`` its entries a and b.

    Empty where the name is none of that kind, or its entries lie too far apart or have no sizes.
    """
    found, together = nebulae_named(name)
    sized = tuple(nebula for nebula in found if nebula.has_extent)
    if not together or len(sized) < len(found):
        return ()
    vectors = sky_to_vector([item.ra_deg for item in sized], [item.dec_deg for item in sized])
    widest_rad = max(float(separation_rad(vectors, vector).max()) for vector in vectors)
    return sized if widest_rad <= math.radians(WIDEST_GROUP_DEG) else ()


def find_named(name: str) -> Nebula | CatalogueObject:
    """Return what a name means: a nebula of the published tables, or another object of OpenNGC.

    Raises
    ------
    InputError
        If it means nothing (near names are offered), several things, or a number that its catalogue lacks.
    """
    if not name.strip():
        raise InputError("give the name of an object, such as 'IC 1396'; got an empty one")
    nebula = find_nebula(name)
    if nebula is not None:
        return nebula
    try:
        return find_object(name)
    except InputError as error:
        if catalogue_number(name) is not None or "has no object" not in str(error):
            raise
        raise UnknownObjectError(_unknown(name), INSTEAD) from None


def names_like(text: str, *, count: int = 8) -> list[Nebula]:
    """Nebulae whose names begin with a text, or have a word that does: for a search while one types.

    Parameters
    ----------
    text : str
    count : int
        How many at most; exact names come first, then the largest.
    """
    wanted = loose_key(text)
    if len(wanted) < 2:
        return []
    nebulae = all_nebulae()
    exact, _ = nebulae.with_key(wanted)
    begins = set(nebulae.indices_beginning(wanted))
    if not any(sign.isdigit() for sign in wanted):
        begins.update(index for name, index in _words() if _has_word(name, wanted))
    rest = sorted(begins - set(exact), key=lambda index: (-float(nebulae.major_arcmin[index]), index))
    return [nebulae[index] for index in (*exact, *rest)[:count]]


def _has_word(name: str, wanted: str) -> bool:
    return any(loose_key(word).startswith(wanted) for word in name.split())


def _described(nebula: Nebula) -> str:
    size = f", {nebula.major_arcmin:g} arc minutes" if nebula.major_arcmin else ""
    if nebula.common_name:
        return f"{nebula.name} ({nebula.common_name}, {nebula.kind}{size})"
    return f"{nebula.name} ({nebula.kind}{size})"


def _check_number(name: str) -> None:
    """Refuse a number that its catalogue lacks."""
    found = catalogue_number(name)
    if found is None or found[0] not in RANGES:
        return
    pattern, last = RANGES[found[0]]
    number, shown = int(found[1].rstrip("abcdefghijklmnopqrstuvwxyz")), pattern.format(_short(found[1]))
    if not 1 <= number <= last:
        raise UnknownObjectError(
            f"{shown}: the catalogue has 1 to {last}",
            "look the number up, or give the center and the size of the region",
        )
    if found[0] not in ("m", "c"):
        raise UnknownObjectError(
            f"{shown}: the catalogue has 1 to {last}, but no place for this one",
            "give the center and the size of the region",
        )


def _short(text: str) -> str:
    return text if len(text) <= 20 else f"{text[:17]}..."


def _shown(name: str) -> str:
    text = " ".join(name.split())
    return repr(text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 3]}...")


def _unknown(name: str) -> str:
    hints = [] if len(name) > LONGEST_SHOWN else _hints(name)
    hint = f"; did you mean {' or '.join(map(repr, hints))}?" if hints else ""
    return f"the catalogue has no object {_shown(name)}{hint}"


def _hints(name: str) -> list[str]:
    """Names in words that are spelt nearly alike, or of which a piece is meant."""
    wanted = loose_key(name)
    if match := re.fullmatch(r"lynds\s*0*(\d{1,4})", name.strip().casefold()):
        return [text for text in (f"LDN {match[1]}", f"LBN {match[1]}") if nebulae_named(text)[0]]
    if numbered := _same_number(name):
        return numbered
    by_key = _word_keys()
    close = difflib.get_close_matches(wanted, by_key, n=MOST_HINTS, cutoff=CLOSE)
    if len(wanted) >= SHORTEST_PART:
        close += sorted(
            (key for key in by_key if wanted in key or (len(key) > SHORTEST_PART and key in wanted)), key=len
        )
    return list(dict.fromkeys(by_key[key] for key in close))[:MOST_HINTS]


def _same_number(name: str) -> list[str]:
    """Entries of this number in catalogues whose names are spelt most like the one that is not known."""
    match = _NUMBERED.fullmatch(name)
    if match is None:
        return []
    written, number = match[1].casefold(), match[2].lstrip("0") or "0"
    near = difflib.get_close_matches(written, SHORT_NAMES, n=MOST_HINTS, cutoff=0.5) or list(SHORT_NAMES)
    known = dict.fromkeys(f"{SHORT_NAMES[key]}{number}" for key in near)
    return [text for text in known if _is_known(text)][:MOST_HINTS]


def _is_known(name: str) -> bool:
    if nebulae_named(name)[0]:
        return True
    try:
        find_object(name)
    except InputError:
        return False
    return True


@cache
def _words() -> tuple[tuple[str, int], ...]:
    """Every name in words with its nebula."""
    return tuple(all_nebulae().names_in_words())


@cache
def _word_keys() -> dict[str, str]:
    """Return names in words, nebulae's and all others', by their loose forms."""
    names: Iterable[str] = [*(name for name, _ in _words()), *common_names()]
    return {loose_key(name): name for name in names}

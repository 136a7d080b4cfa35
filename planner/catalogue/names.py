"""Names of objects as people write them, and as the catalogue spells them."""

from __future__ import annotations

import re

__all__ = ["common_name_key", "identifier_of", "pretty_name"]

DIGITS = {"NGC": 4, "IC": 4, "MWSC": 4, "UGC": 5, "PGC": 6, "H": 2}
"""Width to which the catalogue pads a number with zeros, by prefix; 3 for all others."""

PREFIXES = {
    "MESSIER": "M",
    "CALDWELL": "C",
    "BARNARD": "B",
    "COLLINDER": "CL",
    "CR": "CL",
    "HARVARD": "H",
    "HICKSON": "HCG",
    "LEDA": "PGC",
    "MELOTTE": "MEL",
}
"""Other spellings of prefixes, with what the catalogue uses."""

NUMBERED = {"NGC", "IC", "M", "C", "B", "H", "Mel", "Cl", "HCG", "LBN", "MWSC", "PGC", "UGC", "UGCA", "ESO"}
"""Catalogues whose numbers count entries, so that zeros in front say nothing."""

SPELT = {"MEL": "Mel", "CL": "Cl"}
"""Prefixes that identifiers have in capitals only."""

ALIASES = {"lmc": "Large Magellanic Cloud", "smc": "Small Magellanic Cloud"}
"""Abbreviations of common use that the catalogue lacks."""

PLAIN = re.compile(r"([A-Z]+)(\d+)(NED\d{1,2}|[A-Z]{0,2})")
PAIRED = re.compile(r"ESO(\d+)-(\d+)")
PARTED = re.compile(r"MCG([+-]\d\d)-(\d\d)-(\d{3,4})")


def identifier_of(name: str) -> str | None:
    """Spell a name as the catalogue's identifiers are, or return None for a name in words.

    >>> [identifier_of(name) for name in ("ngc 3372", "M42", "ESO 56-115", "Veil Nebula")]
    ['NGC3372', 'M042', 'ESO056-115', None]
    """
    text = re.sub(r"[\s_]+", "", name).upper()
    if match := PAIRED.fullmatch(text):
        return f"ESO{match[1]:0>3}-{match[2]:0>3}"
    if PARTED.fullmatch(text):
        return text
    match = PLAIN.fullmatch(text.replace("-", ""))
    return _plain(*match.groups()) if match else None


def _plain(prefix: str, number: str, suffix: str) -> str:
    prefix = PREFIXES.get(prefix, prefix)
    if suffix.startswith("NED"):
        suffix = f" NED{suffix[3:]:0>2}"
    return f"{prefix}{number.lstrip('0'):0>{DIGITS.get(prefix, 3)}}{suffix}"


def pretty_name(identifier: str) -> str:
    """Spell one of the catalogue's identifiers as people write it.

    >>> pretty_name("NGC0224"), pretty_name("C 092"), pretty_name("ESO056-115"), pretty_name("NGC0190 NED01")
    ('NGC 224', 'C 92', 'ESO 56-115', 'NGC 190 NED01')
    """
    match = re.fullmatch(r"([A-Za-z]+) ?0*(\d+)(.*)", identifier)
    if not match:
        return identifier
    prefix = SPELT.get(match[1], match[1])
    if prefix not in NUMBERED:
        return identifier
    rest = f"-{match[3][1:].lstrip('0')}" if prefix == "ESO" else match[3]
    return f"{prefix} {match[2]}{rest}"


def common_name_key(name: str) -> str:
    """Letters and digits of a name in words, without case, spaces and a leading article.

    >>> common_name_key("the Witch Head Nebula") == common_name_key("witch-head nebula")
    True
    """
    text = name.strip().casefold()
    text = re.sub(r"^the\s+", "", ALIASES.get(text, text).casefold())
    return "".join(letter for letter in text if letter.isalnum())

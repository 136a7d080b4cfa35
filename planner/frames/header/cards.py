"""Header cards: 80 characters each, keyword and value.

Source: FITS Standard 4.0 (IAU FITS Working Group 2018), sections 3.3, 4.1 and 4.2.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from planner.errors import FileError

__all__ = [
    "CARD",
    "ImageHeader",
    "Value",
    "all_values",
    "calibration_kind",
    "card_values",
    "parse_value",
    "refuse_contradictions",
]

CARD, FIXED = 80, 20
"""Characters of a card, and of a number in fixed format."""
Value = str | bool | int | float | None
_VALUE_CARD = re.compile(r"(?=.{8}= )([^ ]{1,8}) *= (.{70})|.{80}", re.DOTALL)
"""One card: keyword and the rest where it has a value, else neither."""
_STRING = re.compile(r"\s*'((?:[^']|'')*)'")
_COORDINATES = re.compile(
    r"WCSAXES|CTYPE\d|CUNIT\d|CRVAL\d|CRPIX\d|CDELT\d|CROTA\d|(CD|PC|PV)\d_\d+|LONPOLE|LATPOLE|EQUINOX|EPOCH|"
    r"RADESYS|RADECSYS|[AB]_(ORDER|\d_\d)|Z?NAXIS\d"
)
"""Keywords of a plate solution."""
_LONG = re.compile(r"HIERARCH\s+(.+?)\s*=\s(.*)", re.DOTALL)


class ImageHeader(NamedTuple):
    """The header of one image in a file.

    Parameters
    ----------
    path : Path
    values : mapping
        Keyword to the unparsed text of its value and comment.
    text : str
        The cards of the image's own header, 80 characters each, without END.
    place : int
        Which part of the file it is; 0 is the first.
    repeats : bool
        Whether a keyword stands more than once in it.
    """

    path: Path
    values: Mapping[str, str]
    text: str
    place: int
    repeats: bool = False

    @property
    def keys_by_line(self) -> str:
        """All keywords, one a line: a regular expression finds its own among them at once."""
        return "\n".join(self.values)

    def number(self, key: str, default: float) -> float:
        """Return a finite number, or the default where the keyword is absent."""
        text = self.values.get(key)
        if text is None:
            return default
        try:
            value = float(text[:FIXED]) if text[FIXED] in " /" else _float(text.split("/", 1)[0])
        except ValueError:
            value = _float(text.split("/", 1)[0])
        if not math.isfinite(value):
            shown = text.split("/", 1)[0].strip() or "nothing"
            raise FileError(f"{self.path}: {key} must be a finite number, got {shown}; solve the frame again")
        return value

    def needed(self, key: str) -> float:
        """Return a finite number that must be there."""
        if key not in self.values:
            raise FileError(
                f"{self.path} has no full plate solution: {key} is missing; solve the frame again"
            )
        return self.number(key, 0.0)

    def string(self, key: str) -> str | None:
        """Return the text of a keyword without surrounding blanks, or None where it is absent or empty."""
        text = self.values.get(key)
        if text is None:
            return None
        value = parse_value(text)
        return str(value).strip() or None if value is not None else None


def calibration_kind(header: ImageHeader) -> str | None:
    """Return 'dark', 'bias' or 'flat' where IMAGETYP says so; darks that belong to flats are darks."""
    kind = (header.string("IMAGETYP") or "").lower()
    return next((word for word in ("dark", "bias", "flat") if word in kind), None)


def _float(text: str) -> float:
    """Return the number that a text stands for, with Fortran's D for E too; NaN if it is none."""
    try:
        return float(text)
    except ValueError:
        pass
    try:
        return float(text.replace("D", "E").replace("d", "e"))
    except ValueError:
        return math.nan


def card_values(text: str) -> tuple[dict[str, str], bool]:
    """Keywords of header text with the unparsed rest of their cards, and whether any stands twice.

    The last of equal keywords counts.
    """
    pairs = _VALUE_CARD.findall(text)
    values = dict(pairs)
    values.pop("", None)
    return values, len(values) != len(pairs) - pairs.count(("", ""))


def refuse_contradictions(header: ImageHeader) -> None:
    """Raise if a keyword of the plate solution stands twice with different values."""
    if not header.repeats:
        return
    text = header.text
    cards = [text[start : start + CARD] for start in range(0, len(text), CARD)]
    seen: dict[str, Value] = {}
    for card in (card for card in cards if card[8:10] == "= "):
        key, value = card[:8].rstrip(), parse_value(card[10:])
        if _COORDINATES.fullmatch(key) and seen.setdefault(key, value) != value:
            raise FileError(
                f"{header.path} is contradictory: {key} is {seen[key]} and again {value}; solve it again"
            )


def parse_value(text: str) -> Value:
    """Return the value in the field of a card.

    >>> parse_value("'O''Neill  '  / a name"), parse_value("  T"), parse_value(" 1.5D3 / big")
    ("O'Neill", True, 1500.0)
    """
    quoted = _STRING.match(text)
    if quoted:
        return quoted[1].replace("''", "'").rstrip()
    word = text.split("/", 1)[0].strip()
    if word in ("T", "F"):
        return word == "T"
    for kind in (int, lambda digits: float(digits.replace("D", "E").replace("d", "e"))):
        try:
            return kind(word)
        except ValueError:
            continue
    return word or None


def all_values(header: ImageHeader) -> dict[str, Value]:
    """Every keyword of an image with its parsed value; long keywords and long strings put together."""
    values = {key: parse_value(text) for key, text in header.values.items() if key}
    values.update(_long_values(header.text))
    return values


def _long_values(text: str) -> dict[str, Value]:
    """HIERARCH keywords, and strings continued on CONTINUE cards."""
    found: dict[str, Value] = {}
    open_key: str | None = None
    for start in range(0, len(text), CARD):
        card = text[start : start + CARD]
        if card.startswith("CONTINUE") and open_key is not None:
            found[open_key] = str(found[open_key]).removesuffix("&") + str(parse_value(card[10:]) or "")
            continue
        long = _LONG.match(card)
        key, field = (long[1], long[2]) if long else (card[:8].rstrip(), card[10:])
        parsed = parse_value(field) if long or card[8:10] == "= " else None
        open_key = key if isinstance(parsed, str) and parsed.endswith("&") else None
        if long or open_key:
            found[key] = parsed
    return found

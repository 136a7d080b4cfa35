"""A table of a file, read strictly into the frozen dataclass that stands for it.

Keys, types and defaults are those of the dataclass, so that a new field is a new key. msgspec judges the
types; the sentences are ours.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from planner.errors import InputError, nearest_names

from .faults import Faults
from .sky_angle import degrees_from_text, right_ascension_deg

__all__ = ["POSITIONS", "Where", "read_table", "shown", "unknown"]

T = TypeVar("T")

POSITIONS = ("center", "outline")
"""Keys of one or many [right ascension, declination]."""
READ_BEFORE = ("parts", "own_panels", "settled")
"""Keys whose tables the reader has read already, into values."""
ONE_FOR_BOTH = ("size_arcmin",)
"""Keys of two equal numbers where one is given."""
NAMES: dict[Any, str] = {
    float: "a number",
    int: "a whole number",
    str: "text",
    bool: "true or false",
    Path: "a file name",
    dt.date: "a date such as 2027-01-08",
}
WRITTEN = {"overlap": "0.15 for 15 per cent", "aspect": "[3, 2] for 3 to 2", "center": '["08h34m", "-45d50m"]'}
"""How keys are written, by example."""
WRITTEN_KINDS: dict[Any, str] = {
    float: "a number without quotes",
    int: "a whole number without quotes",
    str: "it in quotes",
    bool: "true or false without quotes",
    tuple[float, float]: "two numbers in brackets",
    tuple[int, int]: "two whole numbers in brackets",
}
COUNTS = {2: "two", 3: "three", 4: "four"}
GREATEST_NUMBER = 1e15
LONGEST_SHOWN = 60


@dataclass(frozen=True)
class Where:
    """Where a table stands.

    Parameters
    ----------
    place : str
        How the file writes it: ``[camera]`` or ``[[site]] 2``.
    folder : Path
        What file names in it are relative to.
    faults : Faults
        Gathers what is wrong.
    """

    place: str
    folder: Path
    faults: Faults


def read_table(kind: type[T], table: object, where: Where) -> T | None:
    """Read one table.

    Parameters
    ----------
    kind : type
        A dataclass whose fields are the keys.
    table : object
        What the file has there.
    where : Where

    Returns
    -------
    object of that kind, or None where there were faults.
    """
    place, faults = where.place, where.faults
    if not isinstance(table, Mapping):
        faults.add(place, f"must be a table, got {shown(table)}; write {place} on a line of its own")
        return None
    count = len(faults.found)
    hints: dict[str, Any] = _hints(kind)  # type: ignore[arg-type]
    for name in table:
        if name not in hints:
            faults.add(f"{place} {name[:LONGEST_SHOWN]}", unknown(name, hints))
    for name in _needed(kind):
        if name not in table:
            faults.add(f"{place} {name}", f"is missing; give {_wanted(name, hints[name])}")
    values = {name: _value(name, table[name], hint, where) for name, hint in hints.items() if name in table}
    return _built(kind, values, where) if len(faults.found) == count else None


def unknown(name: str, known: Iterable[str]) -> str:
    """Say that a name is not known, and which one is nearest.

    >>> unknown("overlpa", ["overlap", "angles"])
    "is not known; did you mean 'overlap'?"
    """
    return "is not known" + (nearest_names(name, known) or f"; known are {', '.join(known)}")


@cache
def _hints(kind: type[Any]) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {one.name: hints[one.name] for one in fields(kind)}


def _needed(kind: type[Any]) -> list[str]:
    return [one.name for one in fields(kind) if one.default is MISSING and one.default_factory is MISSING]


def _value(name: str, given: object, hint: Any, where: Where) -> Any:
    """One value, converted to the type of its field; None where there was a fault."""
    if name in READ_BEFORE and (given is None or isinstance(given, tuple) or is_dataclass(given)):
        return given
    try:
        value = _degrees(name, given)
        _check_numbers(value)
        return msgspec.convert(value, hint, dec_hook=lambda _, text: _file_in(where.folder, text))
    except InputError as error:
        where.faults.add(f"{where.place} {name}:", str(error))
    except msgspec.ValidationError:
        words = f"must be {_wanted(name, hint)}, got {shown(given)}{_nearest(given, hint) or _cure(name, hint)}"
        where.faults.add(f"{where.place} {name}", words)
    return None


def _check_numbers(value: object) -> None:
    """Refuse NaN, infinities and numbers beyond all reason, however deep they stand."""
    if isinstance(value, list | tuple):
        for part in value:
            _check_numbers(part)
    elif isinstance(value, int | float) and not abs(value) < GREATEST_NUMBER:
        raise InputError(f"{shown(value)} is no number to work with; give a finite one")


def _file_in(folder: Path, name: object) -> Path:
    if not isinstance(name, str):
        raise TypeError(name)
    return folder / name


def _degrees(name: str, value: Any) -> Any:
    """Turn angles in text into degrees, and one size into two equal ones."""
    if name in ONE_FOR_BOTH and isinstance(value, int | float) and not isinstance(value, bool):
        return [value, value]
    if name == "center":
        return _position(value)
    if name == "outline" and isinstance(value, list):
        corners = [_position(corner) for corner in value]
        closed = len(corners) > 3 and corners[0] == corners[-1]
        return corners[:-1] if closed else corners
    if name == "ra_deg":
        return _right_ascension(value)
    return _angles(value) if name.endswith("_deg") else value


def _position(value: Any) -> Any:
    if not (isinstance(value, list | tuple) and len(value) == 2):
        return value
    ra, dec = value
    return [_right_ascension(ra), _angles(dec)]


def _right_ascension(value: Any) -> Any:
    number = isinstance(value, int | float | str) and not isinstance(value, bool)
    return right_ascension_deg(value) if number else value


def _angles(value: Any) -> Any:
    if isinstance(value, list | tuple):
        return [_angles(part) for part in value]
    return degrees_from_text(value) if isinstance(value, str) else value


def _built(kind: type[T], values: dict[str, Any], where: Where) -> T | None:
    try:
        return kind(**values)
    except InputError as error:
        where.faults.add_error(where.place, error)
        return None


def _wanted(name: str, hint: Any) -> str:
    """Say what a key takes, in words."""
    if name in POSITIONS:
        return (
            "a list of [right ascension, declination]"
            if name == "outline"
            else "[right ascension, declination]"
        )
    if name == "parts":
        return "a list of tables such as { object = 'M 31' }"
    return _type_words(hint)


def _cure(name: str, hint: Any) -> str:
    """Say how a key may be written; nothing where its kind has no short example."""
    kinds = [part for part in get_args(hint) if part is not NoneType] if _is_union(hint) else [hint]
    if name in WRITTEN:
        return f"; write {name} = {WRITTEN[name]}"
    return next((f"; write {WRITTEN_KINDS[kind]}" for kind in kinds if kind in WRITTEN_KINDS), "")


def _nearest(given: object, hint: Any) -> str:
    """Return a hint at the nearest of the words that a key takes; nothing where it takes none."""
    kinds = get_args(hint) if _is_union(hint) else [hint]
    words = [word for kind in kinds if get_origin(kind) is Literal for word in get_args(kind)]
    return nearest_names(given, [word for word in words if isinstance(word, str)]) if isinstance(given, str) else ""


def _is_union(hint: Any) -> bool:
    return get_origin(hint) in (Union, UnionType)


def _type_words(hint: Any) -> str:
    origin, parts = get_origin(hint), get_args(hint)
    if _is_union(hint):
        return " or ".join(_type_words(part) for part in parts if part is not NoneType)
    if origin is Literal:
        return " or ".join(repr(part) for part in parts)
    if origin is tuple and parts[-1] is Ellipsis:
        return f"a list with {_type_words(parts[0])} each"
    if origin is tuple:
        return f"{COUNTS.get(len(parts), len(parts))} {_type_words(parts[0]).removeprefix('a ')}s"
    return NAMES.get(hint, str(hint))


def shown(value: object) -> str:
    """Show what the user gave as the file writes it, cut short.

    >>> shown(True), shown("much"), shown({"a": 1})
    ('true', "'much'", 'a table')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    try:
        text = str(value) if isinstance(value, dt.date | dt.time) else repr(value)
    except ValueError:  # a whole number of more digits than Python prints
        return "a number of thousands of digits"
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."

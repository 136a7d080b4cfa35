"""What targets count for, from a CSV file: two columns, name and weight."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from planner.catalogue.nebulae import nebulae_named
from planner.catalogue.nebulae.spelling import loose_key, name_key
from planner.errors import FileError, nearest_names

from .text_file import read_text

__all__ = ["TargetWeights", "read_weights_file"]

WHAT = "weights file"
HEADER = ["name", "weight"]
GREATEST = 1e9
LONGEST_SHOWN = 60


@dataclass(frozen=True)
class TargetWeights:
    """What targets count for.

    Parameters
    ----------
    weights : tuple of float
        One for each target, in their order; 0 where the file does not name it.
    others : tuple of str
        Nebulae that the file names and that are none of the targets.
    """

    weights: tuple[float, ...]
    others: tuple[str, ...] = ()


def read_weights_file(path: Path, names: Sequence[Sequence[str]]) -> TargetWeights:
    """Read what the user's targets count for.

    The first line may be a header (``name,weight``); empty lines and lines that begin with # are passed over. A
    name is any of a target's, in any spelling that the catalogue knows.

    Parameters
    ----------
    path : Path
    names : sequence of sequences of str
        For each target, all its names.

    Raises
    ------
    FileError
        If the file cannot be read, a line does not hold a name and a weight of 0 or more, a target is named twice,
        or the catalogue has no nebula of a name; names the line.
    """
    known = {key: number for number, some in reversed(list(enumerate(names))) for key in _keys(some)}
    weights, others, named = [0.0] * len(names), [], dict[int, str]()
    for number, name, weight in _rows(path):
        target = next((known[key] for key in _keys([name]) if key in known), None)
        if target is None:
            others.append(_known(path, number, name, names))
            continue
        if target in named:
            raise FileError(
                f"{path} line {number} gives {name!r} a weight again, after {named[target]!r}; leave one out"
            )
        named[target], weights[target] = name, weight
    return TargetWeights(tuple(weights), tuple(others))


def _keys(names: Iterable[str]) -> Iterable[str]:
    return [key for name in names for key in (name_key(name), loose_key(name)) if key]


def _rows(path: Path) -> list[tuple[int, str, float]]:
    lines = read_text(path, WHAT).splitlines()
    try:
        rows = [
            (number, [cell.strip() for cell in row])
            for number, row in enumerate(csv.reader(lines, skipinitialspace=True), 1)
            if any(cell.strip() for cell in row) and not row[0].startswith("#")
        ]
    except csv.Error as error:
        raise FileError(f"{path} is no CSV file: {error}; give two columns, name,weight") from error
    if rows and [cell.lower() for cell in rows[0][1]] == HEADER:
        rows.pop(0)
    if not rows:
        raise FileError(f"{path} holds no weights; give one name,weight a line")
    return [(number, *_row(path, number, row)) for number, row in rows]


def _row(path: Path, number: int, row: list[str]) -> tuple[str, float]:
    weight = _number(row[1]) if len(row) == 2 else math.nan
    if not (row[0] and 0.0 <= weight <= GREATEST):
        raise FileError(
            f"{path} line {number} must be name,weight with a weight of 0 or more, got "
            f"{','.join(row)[:LONGEST_SHOWN]!r}; give a name, a comma and a number"
        )
    return row[0], weight


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _known(path: Path, number: int, name: str, names: Sequence[Sequence[str]]) -> str:
    """Return a name that the catalogue knows, though it is none of the targets'."""
    if not nebulae_named(name)[0]:
        hint = nearest_names(name, [one for some in names for one in some])
        raise FileError(
            f"{path} line {number} names {name[:LONGEST_SHOWN]!r}, of which the catalogue has no nebula{hint}; "
            "mend the name or leave the line out"
        )
    return name

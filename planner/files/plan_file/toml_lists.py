"""Lists of tables in a TOML text changed in place, so that comments stay with the entries that remain.

Entries are the same if their first values are: the name of a filter, the file of a table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from tomlkit.items import AoT, Array, Comment, Table, Whitespace

__all__ = ["change_tables", "is_list_of_tables"]

Change = Callable[[Any, Mapping[str, Any]], None]
Make = Callable[[Mapping[str, Any]], Any]


def is_list_of_tables(item: Any) -> bool:
    """Whether an item of a document is a list of tables, in any of the ways to write one."""
    return isinstance(item, AoT) or (
        isinstance(item, Array) and len(item) > 0 and all(isinstance(one, Mapping) for one in item)
    )


def change_tables(old: Any, new: Sequence[Mapping[str, Any]], *, change: Change, make: Make) -> None:
    """Make a list of tables mean other tables.

    Parameters
    ----------
    old : AoT or Array
        Of a document; changed in place.
    new : sequence of mapping
    change : callable
        Makes an entry mean another table, in place.
    make : callable
        Makes a new entry.
    """
    steps = SequenceMatcher(None, _labels(old), _labels(new), autojunk=False).get_opcodes()
    for _, first, end, new_first, new_end in reversed(steps):
        paired = min(end - first, new_end - new_first)
        for k in reversed(range(first + paired, end)):
            _remove(old, k)
        for k in range(new_first + paired, new_end):
            _insert(old, first + k - new_first, make(new[k]))
        for k in range(paired):
            change(old[first + k], new[new_first + k])


def _labels(tables: Sequence[Mapping[str, Any]]) -> list[str]:
    return [repr(next(iter(one.values()), None)) for one in tables]


def _remove(tables: Any, k: int) -> None:
    """Take an entry out; what is said above the next one stays."""
    if k and isinstance(tables, AoT):
        _move_tail(tables[k], tables[k - 1])
    del tables[k]


def _insert(tables: Any, k: int, entry: Any) -> None:
    """Put an entry in, above what is said of the next one."""
    if k and k < len(tables) and isinstance(tables, AoT):
        _move_tail(tables[k - 1], entry)
    tables.insert(k, entry)


def _move_tail(source: Table, target: Table) -> None:
    """Move the comments that end an entry, which are about the next one, to the end of another entry."""
    body = source.value.body
    tail: list[Comment | Whitespace] = []
    while body and isinstance(item := body[-1][1], Comment | Whitespace):
        tail.append(item)
        body.pop()
    for item in reversed(tail):
        target.add(item)

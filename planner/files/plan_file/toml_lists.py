"""Lists of tables in a TOML text changed in place, so that comments stay with the entries that remain.

Entries are the same if their first values are: the name of a filter, the file of a table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from tomlkit import nl
from tomlkit.container import Container
from tomlkit.items import AoT, Array, Comment, Null, Table, Whitespace

__all__ = ["change_tables", "is_list_of_tables"]

Change = Callable[[Any, Mapping[str, Any]], None]
Make = Callable[[Mapping[str, Any]], Any]


def is_list_of_tables(item: Any) -> bool:
    """Whether an item of a document is a list of tables, in any of the ways to write one."""
    return isinstance(item, AoT) or (
        isinstance(item, Array) and len(item) > 0 and all(isinstance(one, Mapping) for one in item)
    )


def change_tables(
    parent: Any, key: str, new: Sequence[Mapping[str, Any]], *, change: Change, make: Make
) -> None:
    """Make a list of tables mean other tables.

    Parameters
    ----------
    parent : TOMLDocument or Table
        Changed in place.
    key : str
        Of the list in it, an AoT or an Array.
    new : sequence of mapping
    change : callable
        Makes an entry mean another table, in place.
    make : callable
        Makes a new entry.
    """
    old = parent[key]
    above = _Above(parent, key)
    labels = [_label(one) for one in new]
    steps = SequenceMatcher(None, [_label(one) for one in old], labels, autojunk=False).get_opcodes()
    for _, first, end, new_first, new_end in reversed(steps):
        paired = min(end - first, new_end - new_first)
        for k in reversed(range(first + paired, end)):
            _remove(old, k, above, goes=_label(old[k]) not in labels)
        for k in range(new_first + paired, new_end):
            _insert(old, first + k - new_first, make(new[k]), above)
        for k in range(paired):
            change(old[first + k], new[new_first + k])


def _label(table: Mapping[str, Any]) -> str:
    return repr(next(iter(table.values()), None))


class _Above:
    """The comments that stand right above a list of tables: they are about its first entry."""

    def __init__(self, parent: Any, key: str) -> None:
        self._body = parent.body if isinstance(parent, Container) else parent.value.body
        self._place = next(
            k for k, (name, _) in enumerate(self._body) if name is not None and name.key == key
        )

    def taken(self) -> str:
        """Take them out; return their text."""
        return _cut(self._body, self._place)


def _cut(body: list[Any], end: int) -> str:
    """Take the comments that end a part of a document out of it."""
    k = end - 1
    while k >= 0 and isinstance(body[k][1], Null):
        k -= 1
    last = body[k][1] if k >= 0 else None
    if isinstance(last, AoT) and len(last.body):
        last = last.body[-1]
    if isinstance(last, Table):
        return _cut(last.value.body, len(last.value.body))
    text = ""
    while k >= 0 and isinstance(body[k][1], Comment):
        text = body[k][1].as_string() + text
        body[k] = (None, Null())
        k -= 1
    return text


def _cut_with_blank(body: list[Any]) -> None:
    """Take the comments that end an entry out of it, and the blank lines above them."""
    _cut(body, len(body))
    while body and isinstance(body[-1][1], Whitespace | Null):
        body.pop()


def _remove(tables: Any, k: int, above: _Above, *, goes: bool) -> None:
    """Take an entry out, with what is said above it unless it only moves; what is said of the next one stays."""
    if isinstance(tables, AoT):
        if k:
            if goes:
                _cut_with_blank(tables[k - 1].value.body)
            _move_tail(tables[k], tables[k - 1])
        elif len(tables) > 1:
            if goes:
                above.taken()
            tail = "".join(item.as_string() for item in reversed(_tail(tables[0])))
            _say_above(tables[1], tail.lstrip("\n"))
    del tables[k]


def _insert(tables: Any, k: int, entry: Any, above: _Above) -> None:
    """Put an entry in, above what is said of the next one, with a blank line where the one before has one."""
    spaced = isinstance(tables, AoT) and k > 0 and _ends_blank(tables[k - 1])
    if isinstance(tables, AoT) and k < len(tables):
        if k:
            _move_tail(tables[k - 1], entry)
        else:
            _say_above(tables[0], f"\n{above.taken()}")
    tables.insert(k, entry)
    for one in (tables[k - 1], tables[k]) if spaced else ():
        if not _ends_blank(one):
            one.add(nl())


def _ends_blank(entry: Table) -> bool:
    """Whether an entry ends with a blank line, but for comments about the next one."""
    items = [item for _, item in entry.value.body if not isinstance(item, Comment)]
    return bool(items) and isinstance(items[-1], Whitespace)


def _say_above(entry: Table, comments: str) -> None:
    entry.trivia.indent = comments + entry.trivia.indent


def _move_tail(source: Table, target: Table) -> None:
    """Move the comments that end an entry, which are about the next one, to the end of another entry."""
    for item in reversed(_tail(source)):
        target.add(item)


def _tail(entry: Table) -> list[Comment | Whitespace]:
    """Take the comments that end an entry out of it; return them from the last to the first."""
    body = entry.value.body
    tail: list[Comment | Whitespace] = []
    while body and isinstance(item := body[-1][1], Comment | Whitespace):
        tail.append(item)
        body.pop()
    return tail

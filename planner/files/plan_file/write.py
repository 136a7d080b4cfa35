"""Plan and setup files out: a new one with comments, or an edit that keeps the user's comments and order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item, Table

from planner.errors import FileError
from planner.files.output import write_files
from planner.files.text_file import parse_toml, read_text

from .toml_lists import change_tables, is_list_of_tables

__all__ = [
    "BYTE_ORDER_MARK",
    "new_plan_text",
    "replace_text",
    "save_new_text",
    "update_document",
    "update_file",
]

BYTE_ORDER_MARK = "\ufeff"
HEAD = "A plan file of the mosaic planner. Angles are degrees, or text such as '08h34m00s'."
COMMENTS = {
    "setup": "equipment and site that several plan files share",
    "camera.focal_length_mm": "as it works, reducer or flattener included",
    "camera.sensor_px": "columns, rows",
    "region.center": "right ascension, declination (ICRS)",
    "region.level": '"faint", "middle" or "bright" outline',
    "region.size_arcmin": "diameter, or [major, minor]",
    "region.position_angle_deg": "of the height or the major axis, east of north",
    "region.parts": "covered together, each of any form; objects = [...] for names alone",
    "region.join": '"apart", or "hull": what lies between belongs to it',
    "region.margin_arcmin": "grows the region on all sides",
    "mosaic.overlap": "fraction of each side",
    "mosaic.angles": 'how many camera angles, each set once; or "per_panel"',
    "mosaic.position_angle_deg": "of the panels; without it, the angle that needs the fewest panels",
    "mosaic.layout": '"free", "sliding" or "grid"',
    "angle_device.zero_deg": "position angle at reading 0 of a frame taken looking west",
}
"""What a new file says beside a key."""


def new_plan_text(document: Mapping[str, Any]) -> str:
    """Return the text of a new plan file, with a comment beside what needs one.

    Parameters
    ----------
    document : mapping
        Tables and keys, in the order wanted; None stands for a key left out.

    >>> print(new_plan_text({"title": "Shell", "mosaic": {"overlap": 0.2}}), end="")
    # A plan file of the mosaic planner. Angles are degrees, or text such as '08h34m00s'.
    title = "Shell"
    <BLANKLINE>
    [mosaic]
    overlap = 0.2 # fraction of each side
    """
    text = tomlkit.document()
    text.add(tomlkit.comment(HEAD))
    for name, value in document.items():
        if value is not None and not isinstance(value, Mapping) and not _is_tables(value):
            text.add(name, _item(value, COMMENTS.get(name)))
    for name, value in document.items():
        if isinstance(value, Mapping):
            text.add(tomlkit.nl())
            text.add(name, _table(value, name))
        elif _is_tables(value):
            text.add(tomlkit.nl())
            text.add(name, _tables(value))
    return tomlkit.dumps(text)


def update_document(text: str, changes: Mapping[str, Any]) -> str:
    r"""Return a TOML text with some values changed; comments, order and everything else stay.

    Parameters
    ----------
    text : str
    changes : mapping
        Top-level keys to new values. A mapping changes those keys of that table and leaves its others; a list
        of mappings says all that a list of tables holds (comments stay with the entries that remain); None
        takes a key or a table out.

    Raises
    ------
    FileError
        If the text is no TOML.

    >>> print(update_document("[mosaic]\noverlap = 0.15  # usual\n", {"mosaic": {"overlap": 0.2}}), end="")
    [mosaic]
    overlap = 0.2  # usual
    """
    mark, text = (BYTE_ORDER_MARK, text[1:]) if text.startswith(BYTE_ORDER_MARK) else ("", text)
    try:
        document = tomlkit.parse(text)
    except tomlkit.exceptions.ParseError as error:
        parse_toml(text, None, "text")  # tells it in words
        raise FileError(f"the text is no valid TOML: {error}; mend that line") from error
    for name, value in changes.items():
        _change(document, name, value, name)
    return mark + tomlkit.dumps(document)


def _change(parent: Any, key: str, value: Any, name: str) -> None:
    """Change one key of a document or table in place; `name` is its dotted name in the file."""
    old = parent.get(key)
    if isinstance(value, Mapping) and isinstance(old, Mapping):
        for inner, part in value.items():
            _change(old, inner, part, f"{name}.{inner}")
    elif _is_tables(value) and is_list_of_tables(old):
        inline = isinstance(old, Array)
        change_tables(parent, key, value, change=_change_entry, make=_inline_table if inline else _entry)
    elif value is None or isinstance(value, Mapping) or _is_tables(value) or isinstance(old, Mapping | AoT):
        _exchange(parent, key, value)
    elif old is None or not _same(old, value):
        _set_value(parent, key, value, name)


def _change_entry(entry: Any, value: Mapping[str, Any]) -> None:
    """Make an entry of a list of tables mean another one."""
    for key in [key for key in entry if value.get(key) is None]:
        entry.remove(key)
    for key, part in value.items():
        if isinstance(part, Mapping) and key not in entry:
            entry[key] = _inline_table(part)
        elif part is not None:
            _change(entry, key, part, "")


def _entry(values: Mapping[str, Any]) -> Table:
    """One of a list of tables; a table inside it takes one line."""
    return _table({key: _inline_table(v) if isinstance(v, Mapping) else v for key, v in values.items()}, "")


def _inline_table(values: Mapping[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    for key, value in values.items():
        if value is not None:
            table.add(key, _item(value, None))
    return table


def _exchange(parent: Any, key: str, value: Any) -> None:
    """Take out what stands there, then put the new in, where tables and plain keys may stand."""
    if key in parent:
        parent.remove(key)
    if isinstance(value, Mapping):
        parent[key] = _table(value, key)
    elif _is_tables(value) and not isinstance(parent, Table | InlineTable):
        parent[key] = _tables(value)
    elif value is not None:
        parent[key] = _item(value, None)


def _set_value(parent: Any, key: str, value: Any, name: str) -> None:
    """Set a plain key, keeping the comment that stands beside it."""
    old = parent.get(key)
    item = _item(value, None if isinstance(old, Item) else COMMENTS.get(name))
    if isinstance(old, Item):
        item.trivia.comment_ws, item.trivia.comment = old.trivia.comment_ws, old.trivia.comment
    parent[key] = item


def _same(old: Any, value: Any) -> bool:
    """Whether a key need not be written anew: 600 stays where it is to be 600.0."""
    plain, value = old.unwrap() if isinstance(old, Item) else old, _listed(value)
    numbers = all(isinstance(one, int | float) and not isinstance(one, bool) for one in (plain, value))
    return (numbers or type(plain) is type(value)) and bool(plain == value)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _table(values: Mapping[str, Any], name: str) -> Table:
    table = tomlkit.table()
    for key, value in values.items():
        if value is not None:
            table.add(key, _item(value, COMMENTS.get(f"{name}.{key}")))
    return table


def _tables(values: Iterable[Mapping[str, Any]]) -> AoT:
    tables = tomlkit.aot()
    for one in values:
        tables.append(_entry(one))
    return tables


def _item(value: Any, comment: str | None) -> Item:
    if isinstance(value, Path):
        value = value.as_posix()
    if _is_tables(value):  # inside a table: one entry a line
        array = tomlkit.array().multiline(True)
        for one in value:
            array.append(_inline_table(one))
        return array
    item: Item = tomlkit.item(_listed(value))
    if isinstance(item, Array) and len(item) > 2 and isinstance(item[0], list):
        item.multiline(True)  # an outline: one corner a line
    if comment:
        item.comment(comment)
    return item


def _listed(value: Any) -> Any:
    """Return tuples as lists, however deep."""
    return [_listed(part) for part in value] if isinstance(value, list | tuple) else value


def save_new_text(path: Path, text: str) -> None:
    """Write a new file whole.

    Raises
    ------
    FileError
        If there is a file of that name already, or it cannot be written.
    """
    if path.exists() or path.is_symlink():
        raise FileError(f"{path} exists already; choose another name or move it away")
    write_files(path.parent, {path.name: text.encode()})


def replace_text(path: Path, text: str) -> None:
    """Write a user's own file anew, whole, with the line ends of the text; links stay links.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    target = path.resolve()
    write_files(target.parent, {target.name: text.encode()}, may_replace=lambda _: True)


def update_file(path: Path, changes: Mapping[str, Any]) -> None:
    """Change some values of a file in place; see `update_document`.

    Raises
    ------
    FileError
        If it cannot be read or written, or is no TOML.
    """
    replace_text(path, update_document(read_text(path, "file to change"), changes))

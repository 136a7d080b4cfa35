"""Changes to the text of a plan file by dotted keys: ``mosaic.overlap`` to its new value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from planner.files.plan_file.write import update_document
from planner.files.text_file import parse_toml

__all__ = ["change_words", "changed_keys", "edited_text"]

LONGEST_VALUE = 40
"""Letters of a value that is told; of a longer one its key."""


def edited_text(text: str, edits: Mapping[str, Any], setup_text: str | None = None) -> str:
    r"""Return the text of a plan file with keys changed; comments, order and all else stay.

    Parameters
    ----------
    text : str
    edits : mapping
        Dotted keys (``filters`` for a whole list of tables) to new values; None takes the key out, and a
        table that is empty then goes too.
    setup_text : str, optional
        The setup file's text. A table that stands only there is copied before a key of it is changed, since
        the plan file's table replaces the setup file's as a whole.

    >>> print(edited_text("[mosaic]\noverlap = 0.15  # usual\n", {"mosaic.overlap": 0.2}), end="")
    [mosaic]
    overlap = 0.2  # usual
    """
    document, setup = _parsed(text), _parsed(setup_text or "")
    changes: dict[str, Any] = {}
    for name, value in edits.items():
        table, _, key = name.partition(".")
        if not key:
            changes[table] = value
            continue
        inherited = {} if table in document else setup.get(table, {})
        changes.setdefault(table, dict(inherited))[key] = value
    for table, change in changes.items():
        if isinstance(change, Mapping) and _leaves_nothing(document.get(table, {}), change):
            changes[table] = None
    return update_document(text, changes)


def changed_keys(before: str, after: str) -> list[str]:
    r"""Return the dotted keys, in the order of the texts, that two plan files' texts have otherwise.

    Raises
    ------
    FileError
        If one of them is no TOML.

    >>> changed_keys("title = 'a'\n[mosaic]\noverlap = 0.1\n", "title = 'a'\n[mosaic]\nangles = 2\n")
    ['mosaic.overlap', 'mosaic.angles']
    """
    old, new = (dict(_flat(_parsed(text))) for text in (before, after))
    return [key for key in {**old, **new} if old.get(key) != new.get(key)]


def change_words(before: str, after: str) -> list[str]:
    r"""Return what another text of a plan file has otherwise: keys with their new values, where these are short.

    >>> change_words("title = 'a'\n[mosaic]\noverlap = 0.1\n", "title = 'b'\n[mosaic]\n")
    ['title = b', 'no mosaic.overlap']
    """
    new = dict(_flat(_parsed(after)))
    return [_said_of(key, new) for key in changed_keys(before, after)]


def _said_of(key: str, document: Mapping[str, Any]) -> str:
    if key not in document:
        return f"no {key}"
    value = str(document[key])
    return f"{key} = {value}" if len(value) <= LONGEST_VALUE else key


def _flat(document: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, value in document.items():
        if isinstance(value, Mapping):
            yield from ((f"{name}.{key}", own) for key, own in value.items())
        else:
            yield name, value


def _parsed(text: str) -> dict[str, Any]:
    return parse_toml(text.removeprefix("\ufeff"), None, "plan file")


def _leaves_nothing(table: Mapping[str, Any], change: Mapping[str, Any]) -> bool:
    return all(value is None for value in {**table, **change}.values())

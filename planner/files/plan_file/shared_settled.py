"""The layouts of instruments that share a mosaic, kept in their plan file: all of them at once, or let go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from planner.answers.settle import settled_tables
from planner.answers.shared.shared_plan import InstrumentPlan, SharedPlan
from planner.files.text_file import parse_toml

from .other_kind import PLAN, SHARED
from .shared import LAYOUT, SETTLED
from .write import update_document

__all__ = ["settled_shared_text", "unsettled_shared_text"]


def settled_shared_text(text: str, shared: SharedPlan) -> str:
    """Return a plan file's text that keeps the panels of every instrument; comments and order of the file stay.

    Parameters
    ----------
    text : str
        Of a plan file with ``[[setup_files]]``.
    shared : SharedPlan
        What has been planned for it.

    Raises
    ------
    FileError
        If the text is no TOML.
    """
    entries = _entries(text)
    kept = [_kept(one) for one in shared.instruments]
    return _with_entries(text, [{**entry, **own} for entry, own in zip(entries, kept, strict=True)])


def unsettled_shared_text(text: str) -> str:
    """Return a plan file's text without the panels that it keeps; those that it lists itself stay.

    Parameters and errors as for `settled_shared_text`.
    """
    entries = _entries(text)
    if not any(SETTLED in entry for entry in entries):
        return text
    return _with_entries(text, [_let_go(entry) if SETTLED in entry else entry for entry in entries])


def _entries(text: str) -> list[dict[str, Any]]:
    return [dict(entry) for entry in parse_toml(text, None, PLAN)[SHARED]]


def _with_entries(text: str, entries: Iterable[Mapping[str, Any]]) -> str:
    return update_document(text, {SHARED: list(entries)})


def _kept(one: InstrumentPlan) -> dict[str, Any]:
    """What keeps an instrument's whole layout, with the marks of what was asked of it."""
    tables = settled_tables(replace(one.whole, request=one.instrument.request))
    return {LAYOUT: tables["panels"], SETTLED: tables["settled"]}


def _let_go(entry: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if key not in (LAYOUT, SETTLED)}

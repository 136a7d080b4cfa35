"""A file of another kind than the one that is wanted: which it is, and which verb takes it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from .faults import Faults

__all__ = ["PLAN", "SEASON", "SETUP", "SHARED", "refuse_other_kind", "setup_hint"]

PLAN, SETUP, SEASON = "plan file", "setup file", "season file"
SHARED = "setup_files"
"""The table of a plan file that names several instruments."""
MOST_NAMED = 3
ALONE = ("camera", "site")
"""Tables by one of which a file without region and setup may be a setup file."""


def refuse_other_kind(document: Mapping[str, Any], wanted: str, faults: Faults) -> None:
    """Raise where a file is plainly of another kind.

    Parameters
    ----------
    document : mapping
        What the file says.
    wanted : str
        `PLAN`, `SETUP` or `SEASON`.
    faults : Faults

    Raises
    ------
    PlanFileError
        The sentence says which kind it is, and what takes it.
    """
    told = _season_words(document, wanted) if wanted != SEASON else None
    if told is None and wanted == SETUP:
        told = _plan_words(document)
    if told is None and wanted == SEASON and "plans" not in document:
        told = _no_season_words(document)
    if told is not None:
        key, words = told
        faults.add(key, f"{words.format(wanted=f'a {wanted} is wanted')}")
        faults.stop()


def _season_words(document: Mapping[str, Any], wanted: str) -> tuple[str, str] | None:
    """A season file in the place of another."""
    if "plans" not in document or "region" in document:
        return None
    plans = document["plans"]
    names = [name for name in plans if isinstance(name, str)] if isinstance(plans, list) else []
    one = (
        f", or give one of its plan files ({', '.join(names[:MOST_NAMED])})"
        if names and wanted == PLAN
        else ""
    )
    return "plans", f"makes this a season file, but {{wanted}}; `season` takes it{_escaped(one)}"


def _plan_words(document: Mapping[str, Any]) -> tuple[str, str] | None:
    """A plan file in the place of a setup file."""
    if SHARED in document:
        return f"[[{SHARED}]]", "makes this a plan file, but {wanted}; give one of those that it names"
    if "setup" not in document:
        return None
    name = document["setup"]
    its = f", {Path(name).name}" if isinstance(name, str) and name else ""
    return "setup", f"makes this a plan file, but {{wanted}}; give the one that it names{_escaped(its)}"


def _no_season_words(document: Mapping[str, Any]) -> tuple[str, str] | None:
    """A plan file or a setup file in the place of a season file."""
    if "region" in document:
        return "[region]", "makes this a plan file, but {wanted} (title, plans = [...]); `plan` takes it"
    tables = [name for name in ALONE if name in document]
    if not tables:
        return None
    return f"[{tables[0]}]", (
        "makes this a setup file, but {wanted} (title, plans = [...]); `targets` takes it"
    )


def _escaped(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")


def setup_hint(document: Mapping[str, Any]) -> str:
    """Say which verbs take a setup file, where a file without a region may be one."""
    if "region" in document or "setup" in document or not any(name in document for name in ALONE):
        return ""
    return " (a setup file is taken by `targets`, and after a plan file by `fit` and `compare`)"

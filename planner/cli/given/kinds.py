"""Kinds of values that options take, each refused in one sentence: what is wanted, what was given, the cure."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import click

__all__ = ["DATE", "FOLDER", "PATH", "not_swallowed"]

DATE_FORMAT = "%Y-%m-%d"


class _Date(click.DateTime):
    """A date."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if isinstance(value, dt.datetime):
            return value
        try:
            return dt.datetime.strptime(str(value), DATE_FORMAT)
        except ValueError:
            self.fail(f"must be a date of the calendar, got {value!r}; give one such as 2027-01-08", param, ctx)


class _Path(click.Path):
    """A file or folder; an empty name, as of a variable that is not set, is none."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail("must be a name, got an empty text; give one", param, ctx)
        return super().convert(value, param, ctx)


class _Folder(_Path):
    """A folder, which need not be there yet."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value != "" and Path(value).is_file():
            self.fail(f"must be a folder, got the file {str(value)!r}; give another name", param, ctx)
        return super().convert(value, param, ctx)


DATE = _Date([DATE_FORMAT])
PATH = _Path(path_type=Path)
FOLDER = _Folder(path_type=Path)


def not_swallowed(ctx: click.Context, param: click.Parameter, value: Any) -> Any:
    """Refuse a text that is the next option: one value too few was given before it."""
    texts = value if isinstance(value, tuple) else (value,)
    for number, text in enumerate(texts):
        if isinstance(text, str) and text.startswith("--"):
            needs = "a value" if len(texts) == 1 else f"{len(texts)} values ({param.metavar})"
            got = f"only {number} before {text}" if number else f"none before {text}"
            raise click.UsageError(f"{param.opts[0]} needs {needs}, got {got}; give what is missing", ctx)
    return value

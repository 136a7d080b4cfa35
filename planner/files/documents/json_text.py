"""JSON for people and programs: plain decimal numbers, one panel a line, the same bytes on every run."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

__all__ = ["DECIMALS", "json_bytes", "json_text", "plain_number", "without_none"]

DECIMALS = 10
"""Of a degree: 0.4 microseconds of arc."""
MINUS_ZERO = f"{-0.0:.{DECIMALS}f}"


def json_text(document: Mapping[str, object]) -> str:
    """Return a document as JSON text, ending with a line end.

    Keys that end in ``_deg`` keep all ten decimals, other numbers only those that they need; no number is
    written with an exponent. Keys stand in the order given; each key, and each entry of a list of tables,
    has a line of its own.

    Raises
    ------
    ValueError
        If a number is not finite.

    >>> print(json_text({"schema": "x 1", "ra_deg": 1.5, "rows": [{"a": 1e-7}, {"a": True}]}), end="")
    {
     "schema": "x 1",
     "ra_deg": 1.5000000000,
     "rows": [
      {"a": 0.0000001},
      {"a": true}
     ]
    }
    """
    lines = [f" {_string(key)}: {_block(key, value)}" for key, value in document.items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def json_bytes(document: Mapping[str, object]) -> bytes:
    """Return a document as the content of a file; errors as for `json_text`."""
    return json_text(document).encode()


def without_none(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a document, or a part of it, without the keys that have no ground.

    >>> without_none({"panel": "A1", "filter": None})
    {'panel': 'A1'}
    """
    return {key: value for key, value in values.items() if value is not None}


def _block(key: str, value: object) -> str:
    if isinstance(value, list) and value and all(isinstance(row, Mapping) for row in value):
        return "[\n  " + ",\n  ".join(_line(key, row) for row in value) + "\n ]"
    return _line(key, value)


def _line(key: str, value: object) -> str:
    """One value on one line; `key` decides how its numbers are written."""
    if isinstance(value, Mapping):
        keep = key if key.endswith("_deg") else ""
        return (
            "{"
            + ", ".join(f"{_string(name)}: {_line(keep or name, part)}" for name, part in value.items())
            + "}"
        )
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_line(key, part) for part in value) + "]"
    if isinstance(value, float):
        return plain_number(value, exact=key.endswith("_deg"))
    return _string(value)


def _string(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def plain_number(value: float, *, exact: bool) -> str:
    """Return a number without exponent: with all ten decimals, or only those that it needs.

    Raises
    ------
    ValueError
        If the number is not finite.

    >>> plain_number(1.5, exact=True), plain_number(-1e-12, exact=False)
    ('1.5000000000', '0.0')
    """
    if not math.isfinite(value):
        raise ValueError(f"there is no text for {value}")
    text = f"{value:.{DECIMALS}f}"
    text = text[1:] if text == MINUS_ZERO else text
    if exact:
        return text
    whole, decimals = text.split(".")
    return f"{whole}.{decimals.rstrip('0') or '0'}"

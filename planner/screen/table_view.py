"""Tables to look at: units in the headings, one number of digits in a column, words where there are no rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

__all__ = ["heading", "plain_rows", "show_table"]

UNITS = ("deg", "arcmin", "h", "s", "min", "hours")
ROW_PX, HEAD_PX, MOST_PX = 35, 38, 420


def show_table(
    rows: Sequence[Mapping[str, Any]], *, empty: str, decimals: Mapping[str, int] | None = None
) -> None:
    """Show rows as a table that scrolls where it is wider than the page.

    Parameters
    ----------
    rows : sequence of mapping
        Headings to values; what is None stays empty.
    empty : str
        What is said in place of a table without rows.
    decimals : mapping, optional
        Headings of columns of numbers to how many decimals all of them have.
    """
    if not rows:
        st.caption(empty)
        return
    config = {
        name: st.column_config.NumberColumn(format=f"%.{count}f")
        for name, count in (decimals or {}).items()
        if any(row.get(name) is not None for row in rows)
    }
    height = min(MOST_PX, HEAD_PX + ROW_PX * len(rows))
    st.dataframe(list(rows), hide_index=True, column_config=config, placeholder="", height=height)


def plain_rows(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return rows of a document with headings in words, lists as text, and a cell for every key."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    return [{heading(name): _cell(row.get(name)) for name in names} for row in rows]


def heading(name: str) -> str:
    """Return a key as a heading, its unit in brackets.

    >>> heading("moon_separation_deg"), heading("panel")
    ('Moon separation (deg)', 'Panel')
    """
    words, _, unit = name.rpartition("_")
    text = f"{words} ({unit})" if words and unit in UNITS else name
    return (text[:1].upper() + text[1:]).replace("_", " ")


def _cell(value: Any) -> Any:
    return ", ".join(str(one) for one in value) if isinstance(value, list | tuple) else value

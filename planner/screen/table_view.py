"""Tables to look at: units in the headings, one number of digits in a column, words where there are no rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

__all__ = ["TELEPHONE_PX", "heading", "plain_rows", "show_table"]

UNITS = ("deg", "arcmin", "h", "s", "min", "hours")
ROW_PX, HEAD_PX, MOST_PX = 35, 38, 420
TELEPHONE_PX = 368
"""Room for columns on a page 390 pixels wide."""


def show_table(
    rows: Sequence[Mapping[str, Any]],
    *,
    empty: str,
    decimals: Mapping[str, int] | None = None,
    first_px: Mapping[str, int] | None = None,
) -> None:
    """Show rows as a table that scrolls where it is wider than the page, with the columns that matter at its left.

    Parameters
    ----------
    rows : sequence of mapping
        Headings to values; what is None stays empty.
    empty : str
        What is said in place of a table without rows.
    decimals : mapping, optional
        Headings of columns of numbers to how many decimals all of them have.
    first_px : mapping, optional
        Headings of the columns that matter, to their widths in pixels: they stand first, and all of them show on a
        telephone where the sum is at most `TELEPHONE_PX`. What rows do not have is left out.
    """
    if not rows:
        st.caption(empty)
        return
    widths, names = first_px or {}, list(dict.fromkeys(name for row in rows for name in row))
    config: dict[str, Any] = {name: st.column_config.Column(width=px) for name, px in widths.items()}
    config |= {
        name: st.column_config.NumberColumn(format=f"%.{count}f", width=widths.get(name))
        for name, count in (decimals or {}).items()
        if any(row.get(name) is not None for row in rows)
    }
    st.dataframe(
        list(rows),
        hide_index=True,
        column_config={name: one for name, one in config.items() if name in names},
        column_order=[
            *(name for name in widths if name in names),
            *(one for one in names if one not in widths),
        ],
        placeholder="",
        height=min(MOST_PX, HEAD_PX + ROW_PX * len(rows)),
    )


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

"""Tables to look at: units in the headings, one number of digits in a column, words where there are no rows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import streamlit as st

__all__ = ["TELEPHONE_PX", "heading", "plain_rows", "show_table"]

UNITS = ("deg", "arcmin", "h", "s", "min", "hours")
ROW_PX, HEAD_PX, MOST_PX = 35, 38, 420
LINE_PX, LETTER_PX, PADDING_PX, MOST_LINES = 19, 6.6, 20, 5
"""Of a column of sentences, by eye: a line's height, a letter's width with what breaking loses; lines at most."""
TELEPHONE_PX = 368
"""Room for columns on a page 390 pixels wide."""


def show_table(
    rows: Sequence[Mapping[str, Any]],
    *,
    empty: str,
    decimals: Mapping[str, int] | None = None,
    first_px: Mapping[str, int] | None = None,
    wraps_px: Mapping[str, int] | None = None,
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
    wraps_px : mapping, optional
        Headings of columns of sentences, which are broken into lines, to their widths in pixels.
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
    row_px = ROW_PX
    for name, px in (wraps_px or {}).items():
        config[name] = st.column_config.TextColumn(width=px)
        row_px = max(row_px, _row_px((str(row.get(name) or "") for row in rows), px))
    st.dataframe(
        list(rows),
        row_height=row_px,
        hide_index=True,
        column_config={name: one for name, one in config.items() if name in names},
        column_order=[
            *(name for name in widths if name in names),
            *(one for one in names if one not in widths),
        ],
        placeholder="",
        height=min(MOST_PX, HEAD_PX + row_px * len(rows)),
    )


def _row_px(texts: Iterable[str], width_px: int) -> int:
    """Height of rows that show the longest of texts whole in a column, up to some lines."""
    lines = min(MOST_LINES, max(math.ceil(len(text) * LETTER_PX / (width_px - PADDING_PX)) for text in texts))
    return ROW_PX if lines <= 1 else LINE_PX * lines + ROW_PX - LINE_PX


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

"""Looks of the whole app: tight margins, and the red view for dark-adapted eyes.

The red view lays two sheets over the page: one that takes the colours out, and inverts a light page, and one
that lets only red through. So everything turns red, pictures and tables too, without any part knowing of it;
photographs of the sky, which are dark already, stand in a container called `photo`.
"""

from __future__ import annotations

import streamlit as st

__all__ = ["show_looks"]

MARGINS = """
.stMainBlockContainer { padding: 3.7rem 1.4rem .6rem; max-width: none; }
.st-key-bar button { min-height: 2rem; padding-block: .1rem; }
.st-key-compose_side { gap: .7rem; }
@media (min-width: 1001px) { .st-key-compose_sky { max-width: calc(100vw - 350px - 3.8rem); } }
.st-key-compose_side [data-testid="stForm"] .stVerticalBlock { gap: .6rem; }
.st-key-proof h3 { padding: 0; } .st-key-proof .stMarkdownBadge { font-size: .92rem; vertical-align: middle; }
[data-testid="stButtonGroup"] > div { flex-wrap: wrap; row-gap: .4rem; }
.st-key-file_text textarea, .st-key-table_text textarea { font-family: var(--st-code-font, monospace);
  font-size: .82rem; line-height: 1.45; }
.st-key-typed_memory { display: none; }
.planner-away .stDialog { display: none; }
#planner-away { position: fixed; inset: auto 1rem 1rem; z-index: 1000; padding: .8rem 1rem; border-radius: 8px;
  background: var(--planner-away, #7a1f10); color: #fff; font: 1rem/1.4 sans-serif; }
.st-key-red label { align-items: center; }
@media (max-width: 1000px) { .st-key-compose { flex-direction: column; }
  .st-key-compose > * { width: 100% !important; max-width: none !important; } }
.stMainBlockContainer > .stVerticalBlock { gap: .6rem; }
[data-testid="stMetricValue"] { font-size: 1.5rem; }
[data-testid="stExpander"] summary { padding-block: .35rem; }
"""
RED = """
html, body, .stApp { background: #000; }
body::before, body::after { content: ""; position: fixed; inset: 0; pointer-events: none; }
body::before { z-index: 2147483646; -webkit-backdrop-filter: grayscale(1); backdrop-filter: grayscale(1); }
body::after { z-index: 2147483647; background: #d00000; mix-blend-mode: multiply; }
@media (prefers-color-scheme: light) { html, body, .stApp { background: #fff; }
  body::before { -webkit-backdrop-filter: grayscale(1) invert(1); backdrop-filter: grayscale(1) invert(1); }
  .st-key-photo img { filter: invert(1); } }
@media (prefers-color-scheme: dark) { [data-testid="stImage"] img { filter: invert(1); }
  .st-key-photo [data-testid="stImage"] img { filter: none; } }
"""


def show_looks() -> None:
    """Apply the styles; the red view follows its switch in the bar and the address (`?view=red`)."""
    state = st.session_state
    state.setdefault("red", st.query_params.get("view") == "red")
    st.html(f"<style>{MARGINS}{RED if state['red'] else ''}</style>")

"""Looks of the whole app: tight margins, and the red view for dark-adapted eyes.

The red view lays two sheets over the page: one that takes the colours out, and inverts a light page, and one
that lets only red through. So everything turns red, pictures and tables too, without any part knowing of it;
photographs of the sky, which are dark already, stand in a container called `photo`. Red on black has a contrast of
5.25 at most (WCAG 2.2, relative luminance), so text that is to have 4.5 must be nearly as bright as red can be: there
is one colour of text and one of the ground (`red.css`), and what colours tell apart elsewhere lines, dashes and slant
tell apart here.
"""

from __future__ import annotations

from pathlib import Path

import streamlit as st

__all__ = ["show_looks"]

MARGINS = """
.stMainBlockContainer { padding: 3.7rem 1.4rem .6rem; max-width: none; }
.st-key-pages { gap: .65rem .2rem; padding-block: .3rem .2rem; } .st-key-pages a { padding-inline: .35rem; }
@media (min-width: 769px) { [data-testid="stLayoutWrapper"]:has(> .st-key-pages) { display: none; } }
.st-key-bar button { min-height: 2rem; padding-block: .1rem; }
.st-key-compose_side, .st-key-compose_side > [data-testid="stLayoutWrapper"] > .stVerticalBlock { gap: .7rem; }
@media (min-width: 1001px) { .st-key-compose_sky { max-width: calc(100vw - 350px - 3.8rem); } }
.st-key-compose_side [data-testid="stForm"] .stVerticalBlock { gap: .6rem; }
.st-key-proof h3 { padding: 0; } .st-key-proof .stMarkdownBadge { font-size: .92rem; vertical-align: middle; }
[data-testid="stButtonGroup"] > div { flex-wrap: wrap; row-gap: .4rem; }
.st-key-file_text textarea, .st-key-table_text textarea { font-family: var(--st-code-font, monospace);
  font-size: .82rem; line-height: 1.45; }
:is(.st-key-typed_memory, .st-key-behaviour) { display: none; }
[data-testid="stToastContainer"] { top: auto !important; bottom: 1rem; }
.planner-away .stDialog { display: none; }
.planner-going-back [data-testid="stMain"] { opacity: .2; pointer-events: none; }
#planner-away { position: fixed; inset: auto 1rem 1rem; z-index: 1000; padding: .8rem 1rem; border-radius: 8px;
  background: var(--planner-away, #7a1f10); color: #fff; font: 1rem/1.4 sans-serif; }
.st-key-red label { align-items: center; }
@media (max-width: 1000px) { .st-key-compose { flex-direction: column; }
  .st-key-compose > * { width: 100% !important; max-width: none !important; } }
@media (max-width: 1000px) { :is(.st-key-wide_picture, .st-key-dark_picture) { overflow-x: auto; }
  :is(.st-key-wide_picture, .st-key-dark_picture) img {
    width: 820px !important; min-width: 820px; max-width: none !important; } }
[data-testid="stColumn"] .stNumberInput { container-type: inline-size; }
@container (max-width: 150px) { [data-testid="stNumberInputStepDown"], [data-testid="stNumberInputStepUp"] {
  display: none; } }
@media (max-width: 640px) { .stMainBlockContainer { padding-inline: .7rem; } .st-key-bar { gap: .3rem; }
  .st-key-bar > :first-child { flex-basis: 100%; } .st-key-bar button { padding-inline: .4rem; } }
.stMainBlockContainer > .stVerticalBlock { gap: .6rem; }
[data-testid="stMetricValue"] { font-size: 1.5rem; }
[data-testid="stExpander"] summary { padding-block: .35rem; }
"""
RED_SHEET = "#ff0000"
RED_BRIGHTNESS = 1.9
"""How much brighter all becomes before the red sheet: what is faint elsewhere must be read here as well."""
RED = (
    (Path(__file__).parent / "red.css")
    .read_text(encoding="utf-8")
    .replace("FILTER", f"grayscale(1) brightness({RED_BRIGHTNESS})")
    .replace("PALER", f"{1 / RED_BRIGHTNESS:.2f}")
    .replace("SHEET", RED_SHEET)
)


def show_looks() -> None:
    """Apply the styles; the red view follows its switch in the bar and the address (`?view=red`)."""
    state = st.session_state
    state.setdefault("red", st.query_params.get("view") == "red")
    st.html(f"<style>{MARGINS}{RED if state['red'] else ''}</style>")

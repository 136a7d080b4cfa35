"""A drawing on a page: SVG in the colours of the page, for eyes only or with words of its own."""

from __future__ import annotations

import streamlit as st

__all__ = ["mount_drawing"]

SCRIPT = """
export default function ({ parentElement, data }) {
  const box = parentElement.querySelector(".drawing");
  if (box.__svg !== data.svg) box.innerHTML = box.__svg = data.svg;
}
"""

mount_drawing = st.components.v2.component(
    "drawing",
    html='<div class="drawing"></div>',
    css=".drawing { color: var(--st-text-color); font-family: var(--st-font); text-align: center; }\n",
    js=SCRIPT,
)
"""Mount a drawing: `mount_drawing(key=..., data={"svg": text})`; the text must be ours, not the user's."""

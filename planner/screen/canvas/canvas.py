"""The sky canvas as a browser component: its HTML, style and script, and the function that mounts it.

The script is the files in `js/` in the order of `SCRIPTS`, joined to one module.
"""

from __future__ import annotations

from pathlib import Path

import streamlit as st

__all__ = ["mount"]

HERE = Path(__file__).parent
SCRIPTS = (
    "sphere",
    "view",
    "graticule",
    "nebulae",
    "backdrop",
    "composition",
    "overlay",
    "gestures",
    "finder",
    "sky",
)


def _script() -> str:
    return "\n".join((HERE / "js" / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS)


mount = st.components.v2.component(
    "sky_canvas",
    html=(HERE / "sky.html").read_text(encoding="utf-8"),
    css=(HERE / "sky.css").read_text(encoding="utf-8"),
    js=_script(),
)
"""Mount the canvas: `mount(key=..., height=..., data=..., on_gesture_change=..., on_view_change=...)`."""

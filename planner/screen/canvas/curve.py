"""The curve of panel count, or of one frame's margin, against camera angle, on which an angle can be chosen."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

__all__ = ["mount_curve"]

HERE = Path(__file__).parent
HTML = """<div class="curve"><svg tabindex="0" role="slider"
 aria-label="Panels at each camera angle: arrow keys move, Enter takes the angle"></svg></div>"""

mount_curve = st.components.v2.component(
    "angle_curve",
    html=HTML,
    css=(HERE / "curve.css").read_text(encoding="utf-8"),
    js=(HERE / "curve.js").read_text(encoding="utf-8"),
)
"""Mount the curve: `mount_curve(key=..., data=..., on_angle_change=...)`.

`data` has ``angles``, degrees in equal steps over ``span``; for each ``counts`` of panels, whether the count is
``proven``, and whether it is ``doubtful``, which is drawn dotted; ``present`` with its ``present_count``, and
``best``, which may be None. With ``margin``, a table whose ``best`` is the largest, counts are margins in arc
minutes.
"""

"""The sky with frames of what fits, to look at and to choose from: its HTML, style and script."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

__all__ = ["mount_frames"]

HERE = Path(__file__).parent
SCRIPTS = ("sphere", "view", "graticule", "nebulae", "backdrop", "frames")
"""Joined to one module in this order."""


def _text(*names: str) -> str:
    return "\n".join((HERE / name).read_text(encoding="utf-8") for name in names)


mount_frames = st.components.v2.component(
    "frames_sky",
    html=_text("frames.html"),
    css=_text("sky.css", "frames.css"),
    js=_text(*(f"js/{name}.js" for name in SCRIPTS)),
)
"""Mount it: `mount_frames(key=..., data=..., on_target_change=..., on_view_change=...)`.

`data` has ``sid``, the session's id; ``taken``, the number of the last choice that was taken;
``cap`` and ``sky`` as the canvas has them; ``look`` (``n``, ``ra``, ``dec``,
``half``: where a wish with another number sends the view), ``said``, and ``frames``: mappings of ``name``, ``title``,
``corners`` (pairs of right ascension and declination), whether it ``fits`` and is ``chosen``.
"""

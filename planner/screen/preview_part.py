"""The preview: good frames laid together on the plan's picture, made when told to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import PlannerError

from .inputs.mirror import mirror
from .reviewed import Reviewed
from .state import kept
from .working import working

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.frames.preview.preview_choice import Choice, GoodFrame

__all__ = ["preview_part"]

LONG_SIDE_PX = 1400
"""Of the preview on the page; the command line makes larger ones."""
CHOICES = {"best": "the sharpest of each panel and filter", "mean": "all good frames"}


@dataclass(frozen=True)
class _Shown:
    png: bytes
    words: str
    left_out: tuple[str, ...]


def preview_part(found: Reviewed) -> None:
    """Offer the preview, and show it once it is made."""
    good = _good_frames(found)
    if not good:
        st.caption("There is no good frame to make a preview of.")
        return
    choice = st.radio(
        "Lay together", list(CHOICES), format_func=CHOICES.get, key=mirror("preview_choice", "best")
    )
    if st.button(f"Make a preview of {len(good)} good {_noun(len(good))}", key="preview_make"):
        st.session_state["preview_asked"] = (found, choice)
    if st.session_state.get("preview_asked") != (found, choice):
        return
    try:
        shown: _Shown = kept("preview", (found, choice), lambda: _made(found, good, choice))
    except PlannerError as error:
        st.error(str(error))
        return
    with st.container(key="photo"):
        st.image(shown.png, caption=shown.words)
    for sentence in shown.left_out:
        st.warning(f"Left out: {sentence}")
    st.download_button("Download PNG", shown.png, "preview.png", "image/png", on_click="ignore")


def _good_frames(found: Reviewed) -> list[GoodFrame]:
    from planner.frames.preview.preview_choice import GoodFrame

    return [
        GoodFrame(one.path, one.panel, one.filter)
        for one in found.frames
        if one.verdict == "good" and one.panel is not None
    ]


def _noun(count: int) -> str:
    return "frame" if count == 1 else "frames"


def _made(found: Reviewed, good: list[GoodFrame], choice: Choice) -> _Shown:
    with working("Making the preview") as work:
        shown = _laid_together(found, good, choice, work.tell)
        work.done("The preview is made")
    return shown


def _laid_together(
    found: Reviewed, good: list[GoodFrame], choice: Choice, progress: Callable[[str, float], None]
) -> _Shown:
    from planner.files.preview_file import preview_png
    from planner.frames.preview.colours import colour_filters
    from planner.frames.preview.preview import make_preview
    from planner.frames.preview.preview_choice import choose_frames, preview_grid

    picture = found.plan.picture
    grid = preview_grid(picture, min(1.0, LONG_SIDE_PX / max(picture.pixels)))
    frames, left_out = choose_frames(good, found.solved, choice, progress)
    preview = make_preview(frames, grid, progress=progress)
    number = sum(preview.frames)
    words = f"{number} {_noun(number)}; {', '.join(preview.filters)}"
    if len(preview.filters) > 1:
        words += "; red, green and blue are " + ", ".join(colour_filters(preview.filters))
    return _Shown(preview_png(preview), words, (*left_out, *preview.left_out))

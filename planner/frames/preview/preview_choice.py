"""Which frames go into the preview, and on which pixels."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from planner.errors import FileError
from planner.frames.header.picture_wcs import PreviewGrid
from planner.frames.header.pixels import Window, read_binned
from planner.frames.solve.solution_cards import Cards
from planner.frames.solve.star_detection import detect_stars
from planner.progress import Progress, silent

from .preview_frame import PreviewFrame, preview_frame

if TYPE_CHECKING:
    from planner.request.picture import Picture

__all__ = ["GoodFrame", "choose_frames", "preview_grid", "star_width_px"]

LONG_SIDE_PX = 2400
"""Longer side of a preview whose scale is not asked for."""
SAMPLE_PX = 1024
"""Side of the middle of a frame in which stars are measured."""
NO_FILTER = "no filter"
Choice = Literal["mean", "best"]


class GoodFrame(NamedTuple):
    """A good frame of a review: file, panel and filter."""

    path: Path
    panel: str
    filter: str | None


def preview_grid(picture: Picture, scale: float | None = None) -> PreviewGrid:
    """Pixels of a preview of a plan's picture.

    Parameters
    ----------
    picture : Picture
    scale : float, optional
        Pixels of the preview for each pixel of the picture, along a side, in (0, 1]; left out, so that the
        longer side has at most 2400.
    """
    factor = min(1.0, LONG_SIDE_PX / max(picture.pixels)) if scale is None else scale
    columns, rows = (max(1, round(count * factor)) for count in picture.pixels)
    half = math.tan(math.radians(picture.width_deg) / 2)
    arcsec = math.degrees(2 * half / columns) * 3600.0
    return PreviewGrid(picture.center_deg, picture.position_angle_deg, arcsec, (columns, rows))


def choose_frames(
    good: Sequence[GoodFrame],
    solved: Mapping[Path, Cards],
    choice: Choice = "mean",
    progress: Progress = silent,
) -> tuple[list[PreviewFrame], list[str]]:
    """Prepare good frames for the preview.

    Parameters
    ----------
    good : sequence of GoodFrame
    solved : mapping
        Solutions of frames solved here, by path.
    choice : {'mean', 'best'}
        All of them, or of each panel and filter the one with the narrowest stars.

    Returns
    -------
    frames : list of PreviewFrame
    left_out : list of str
        Sentences about frames that cannot be read any more.
    """
    left_out: list[str] = []
    frames: list[tuple[PreviewFrame, float]] = []
    for number, one in enumerate(good):
        try:
            frame = preview_frame(one.path, one.panel, one.filter or NO_FILTER, solved)
            frames.append((frame, star_width_px(frame) if choice == "best" else 0.0))
        except FileError as error:
            left_out.append(str(error))
        progress("choosing frames for the preview", (number + 1) / len(good))
    if choice == "mean":
        return [frame for frame, _ in frames], left_out
    best: dict[tuple[str, str], tuple[PreviewFrame, float]] = {}
    for frame, width in frames:
        key = frame.panel, frame.filter
        if key not in best or width < best[key][1]:
            best[key] = frame, width
    return [frame for frame, _ in best.values()], left_out


def star_width_px(frame: PreviewFrame) -> float:
    """Median width of the brightest stars in the middle of a frame, pixels; infinite without stars.

    Raises
    ------
    FileError
        If the frame cannot be read.
    """
    columns, rows = (min(count, SAMPLE_PX) for count in frame.size_px)
    middle = Window((frame.size_px[0] - columns) // 2, (frame.size_px[1] - rows) // 2, columns, rows)
    stars = detect_stars(read_binned(frame.path, 1, middle))
    return float(np.median(stars.width_px[:50])) if len(stars.flux) else math.inf

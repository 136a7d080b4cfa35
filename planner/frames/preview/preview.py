"""The preview: good frames laid together on the plan's picture, one plane for each filter.

Frames are averaged over squares of pixels to about the scale asked for, their sky levels are matched, and
reproject lays them on the picture's pixels tile by tile: memory holds a few tiles, the planes lie on disk.
"""

from __future__ import annotations

import tempfile
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import FileError, InputError
from planner.frames.header.picture_wcs import PreviewGrid, wcs_of_cards
from planner.frames.header.pixels import Window
from planner.progress import Progress, silent

from .backgrounds import CoarseFrame, matched_levels
from .preview_frame import PreviewFrame
from .tasks import run_tasks

if TYPE_CHECKING:
    from astropy.wcs import WCS

__all__ = ["Preview", "make_preview"]

COARSE_PX = 700
"""Longer side of the grid on which sky levels are compared."""
TILE_PX = 2048


@dataclass(frozen=True)
class Preview:
    """Planes of a preview.

    Parameters
    ----------
    grid : PreviewGrid
    filters : tuple of str
    planes : ndarray, shape (filters, rows, columns)
        Mean of the frames, sky levels matched; NaN where there is none. Kept on disk.
    frames : tuple of int
        Frames in each plane.
    left_out : tuple of str
        Sentences about frames that could not be used.
    """

    grid: PreviewGrid
    filters: tuple[str, ...]
    planes: NDArray[np.float32]
    frames: tuple[int, ...]
    left_out: tuple[str, ...] = ()


def make_preview(
    frames: Sequence[PreviewFrame],
    grid: PreviewGrid,
    *,
    scheduler: str | None = None,
    progress: Progress = silent,
) -> Preview:
    """Lay frames together.

    Parameters
    ----------
    frames : sequence of PreviewFrame
        Of any filters; those of one filter are averaged.
    grid : PreviewGrid
    scheduler : str, optional
        Of a dask cluster; see `run_tasks`.
    progress : callable
        Called with what is being done and the part done.

    Raises
    ------
    InputError
        If no frame can be used, or the cluster does not answer.
    """
    level, left_out = _levelled(frames, grid, scheduler, progress)
    if not level:
        raise InputError("no frame can be laid into a preview; review frames that are good and can be read")
    filters = tuple(dict.fromkeys(frame.filter for frame in level))
    planes = _plane_file(len(filters), grid)
    tasks = [
        (tuple(frame for frame in level if frame.filter == name), grid, window)
        for name in filters
        for window in _tiles(grid)
    ]
    count = len(tasks) // len(filters)
    for number, (tile, faults) in run_tasks(_tile, tasks, scheduler=scheduler):
        window = tasks[number][2]
        rows, columns = _slices(window)
        planes[number // count, rows, columns] = tile
        left_out += faults
        progress("laying frames together", 0.3 + 0.7 * (number + 1) / len(tasks))
    numbers = tuple(sum(frame.filter == name for frame in level) for name in filters)
    return Preview(grid, filters, planes, numbers, tuple(dict.fromkeys(left_out)))


def _levelled(
    frames: Sequence[PreviewFrame], grid: PreviewGrid, scheduler: str | None, progress: Progress
) -> tuple[list[PreviewFrame], list[str]]:
    """Frames that can be read, their levels matched within each filter."""
    coarse = grid.coarser(COARSE_PX)
    seen: list[CoarseFrame | None] = []
    left_out: list[str] = []
    for number, (found, fault) in run_tasks(
        _coarse, [(frame, coarse) for frame in frames], scheduler=scheduler
    ):
        seen.append(found)
        left_out += [fault] if fault else []
        progress("matching sky levels", 0.3 * (number + 1) / len(frames))
    usable: list[PreviewFrame] = []
    for name in dict.fromkeys(frame.filter for frame in frames):
        same = [n for n, frame in enumerate(frames) if frame.filter == name and seen[n] is not None]
        levels = matched_levels([seen[n] for n in same])
        usable += [replace(frames[n], level=float(value)) for n, value in zip(same, levels, strict=True)]
    return usable, left_out


def _plane_file(count: int, grid: PreviewGrid) -> NDArray[np.float32]:
    """Array in a temporary file that vanishes with it."""
    columns, rows = grid.size_px
    try:
        with tempfile.TemporaryFile() as stream:
            return np.memmap(stream, dtype=np.float32, mode="w+", shape=(count, rows, columns))
    except OSError as error:
        size_gb, place = 4 * count * columns * rows / 1e9, tempfile.gettempdir()
        raise FileError(
            f"no room in {place} for a preview of {size_gb:.1f} GB ({error.strerror}); choose a smaller scale"
        ) from error


def _tiles(grid: PreviewGrid) -> Iterator[Window]:
    columns, rows = grid.size_px
    for row in range(0, rows, TILE_PX):
        for column in range(0, columns, TILE_PX):
            yield Window(column, row, min(TILE_PX, columns - column), min(TILE_PX, rows - row))


def _slices(window: Window) -> tuple[slice, slice]:
    rows = slice(window.row, window.row + window.rows)
    return rows, slice(window.column, window.column + window.columns)


def _coarse(frame: PreviewFrame, grid: PreviewGrid) -> tuple[CoarseFrame | None, str | None]:
    """One frame on the coarse grid, or why it cannot be used."""
    window = frame.ground(grid)
    if window is None:
        return None, None
    pixels, faults = _tile((frame,), grid, window)
    return (None if faults or np.isnan(pixels).all() else CoarseFrame(window, pixels)), "; ".join(
        faults
    ) or None


def _tile(
    frames: Sequence[PreviewFrame], grid: PreviewGrid, window: Window
) -> tuple[NDArray[np.float32], list[str]]:
    """Mean of frames over a part of the grid, NaN where there is none, and faults of frames met."""
    from reproject import reproject_interp
    from reproject.mosaicking import reproject_and_coadd

    inputs = _LazyFrames([frame for frame in frames if _meets(frame, grid, window)], grid, window)
    shape = window.rows, window.columns
    if not len(inputs):
        return np.full(shape, np.nan, dtype=np.float32), []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mean, _ = reproject_and_coadd(
            inputs,
            wcs_of_cards(grid.cards(window)),
            shape_out=shape,
            reproject_function=reproject_interp,
            roundtrip_coords=False,
            combine_function="mean",
            blank_pixel_value=np.nan,
        )
    tile: NDArray[np.float32] = mean.astype(np.float32)
    return tile, inputs.faults


def _meets(frame: PreviewFrame, grid: PreviewGrid, window: Window) -> bool:
    ground = frame.ground(grid)
    return ground is not None and (
        ground.column < window.column + window.columns
        and window.column < ground.column + ground.columns
        and ground.row < window.row + window.rows
        and window.row < ground.row + ground.rows
    )


class _LazyFrames(Sequence[Any]):
    """Frames for `reproject_and_coadd`, each read when its turn comes."""

    def __init__(self, frames: Sequence[PreviewFrame], grid: PreviewGrid, window: Window) -> None:
        self.frames, self.grid, self.window = frames, grid, window
        self.faults: list[str] = []

    def __len__(self) -> int:
        return len(self.frames)

    def __getitem__(self, number: Any) -> tuple[NDArray[np.float32], WCS]:
        """Pixels and coordinates of one frame; undefined pixels for one that cannot be read any more."""
        frame: PreviewFrame = self.frames[number]
        try:
            found = frame.read(self.grid, self.window)
        except FileError as error:
            self.faults.append(str(error))
            found = None
        if found is None:
            return np.full((2, 2), np.nan, dtype=np.float32), wcs_of_cards(self.grid.cards(self.window))
        return found

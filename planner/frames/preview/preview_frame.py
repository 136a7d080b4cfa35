"""One frame on its way into the preview: cut, averaged, and laid on the preview's pixels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import FileError
from planner.frames.header.cards import parse_value
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.picture_wcs import PreviewGrid, binned_cards, wcs_of_cards
from planner.frames.header.pixels import Window, read_binned, whole_window
from planner.frames.header.solution_facts import image_size
from planner.frames.solve.solution_cards import COORDINATES, Cards, read_solution_beside

if TYPE_CHECKING:
    from astropy.wcs import WCS

__all__ = ["PreviewFrame", "preview_frame"]

EDGE_POINTS = 9
MARGIN_PX = 3
"""Pixels of a frame taken beyond what a part of the preview shows, for interpolation."""


@dataclass(frozen=True)
class PreviewFrame:
    """A good frame: where it is, what it shows, how it lies on the sky.

    Parameters
    ----------
    path : Path
    panel, filter : str
    size_px : (int, int)
        Columns and rows.
    cards : mapping
        World coordinates.
    level : float
        Subtracted from every pixel: what the frame's sky is above that of the others.
    """

    path: Path
    panel: str
    filter: str
    size_px: tuple[int, int]
    cards: Cards
    level: float = 0.0

    def binning_for(self, grid: PreviewGrid) -> int:
        """Side of the squares of pixels that make about one pixel of a grid."""
        x, y = self._pixel_scales()
        return max(1, int(grid.scale_arcsec_px / max(x, y) + 1e-3))

    def _pixel_scales(self) -> tuple[float, float]:
        from astropy.wcs.utils import proj_plane_pixel_scales

        x, y = proj_plane_pixel_scales(wcs_of_cards(self.cards)) * 3600.0
        return float(x), float(y)

    def ground(self, grid: PreviewGrid) -> Window | None:
        """Part of a grid under the frame; None where they do not meet."""
        x, y = _carried(wcs_of_cards(self.cards), wcs_of_cards(grid.cards()), whole_window(self.size_px))
        return _meet(x, y, grid.size_px, 1)

    def read(self, grid: PreviewGrid, part: Window) -> tuple[NDArray[np.float32], WCS] | None:
        """Read the pixels under a part of a grid, averaged to about its scale, and their coordinates.

        Raises
        ------
        FileError
            If the file cannot be read.
        """
        binning = self.binning_for(grid)
        x, y = _carried(wcs_of_cards(grid.cards()), wcs_of_cards(self.cards), part)
        window = _meet(x, y, self.size_px, MARGIN_PX * binning)
        if window is None or min(window.columns, window.rows) < 2 * binning:
            return None
        window = _on_squares(window, binning)
        pixels = read_binned(self.path, binning, window) - np.float32(self.level)
        return pixels, wcs_of_cards(binned_cards(self.cards, window, binning))


def _carried(start: WCS, to: WCS, window: Window) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pixels, from 0, that points along the rim of a window have in other coordinates."""
    from astropy.wcs.utils import pixel_to_pixel

    t = np.linspace(0.0, 1.0, EDGE_POINTS)
    across = window.column - 0.5 + t * window.columns
    along = window.row - 0.5 + t * window.rows
    x = np.concatenate(
        [across, across, np.full_like(t, across[0]), np.full_like(t, across[-1]), [across.mean()]]
    )
    y = np.concatenate([np.full_like(t, along[0]), np.full_like(t, along[-1]), along, along, [along.mean()]])
    found = pixel_to_pixel(start, to, x, y)
    return np.asarray(found[0]), np.asarray(found[1])


def _meet(
    x: NDArray[np.float64], y: NDArray[np.float64], size_px: tuple[int, int], margin: int
) -> Window | None:
    """Smallest window of a frame about points; all of it where a point has no image; None outside."""
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        return whole_window(size_px)
    ends = []
    for values, count in ((x, size_px[0]), (y, size_px[1])):
        first = max(0, int(np.floor(values.min())) - margin)
        last = min(count, int(np.ceil(values.max())) + margin + 1)
        if last <= first:
            return None
        ends.append((first, last - first))
    (column, columns), (row, rows) = ends
    return Window(column, row, columns, rows)


def _on_squares(window: Window, binning: int) -> Window:
    """Begin a window at a whole number of squares, so that every part of a frame is averaged alike."""
    left, low = window.column % binning, window.row % binning
    return Window(window.column - left, window.row - low, window.columns + left, window.rows + low)


def preview_frame(path: Path, panel: str, filter_name: str, solved: Mapping[Path, Cards]) -> PreviewFrame:
    """Prepare a good frame: its size and its coordinates, by its header or by a solution made elsewhere.

    Parameters
    ----------
    path : Path
    panel, filter_name : str
    solved : mapping
        Solutions of frames solved here, by path.

    Raises
    ------
    FileError
        If the file cannot be read any more.
    """
    header = read_image_header(path)
    size = image_size(header)
    if path in solved:
        return PreviewFrame(path, panel, filter_name, size, dict(solved[path]))
    if "CTYPE1" not in header.values:
        header = read_solution_beside(header) or header
    cards = {key: value for key, value in _coordinates(header.values)}
    if "CRPIX1" not in cards:
        raise FileError(f"{path} has no plate solution any more; review it again")
    return PreviewFrame(path, panel, filter_name, size, cards)


def _coordinates(values: Mapping[str, str]) -> Iterator[tuple[str, float | str]]:
    for key, text in values.items():
        if COORDINATES.match(key):
            value = parse_value(text)
            if isinstance(value, str | int | float):
                yield key, value

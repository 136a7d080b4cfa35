"""Pixels of frames, read in strips and never written: files are opened read-only.

Pixels are numbered from 0; pixel (0, 0) is the first of the file, rows grow upwards.
"""

from __future__ import annotations

import contextlib
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import FileError

from .fits_blocks import read_image_header

__all__ = ["Window", "read_binned", "whole_window"]

STRIP_PIXELS = 4_000_000
"""Most pixels held as read, before they are averaged."""


@dataclass(frozen=True)
class Window:
    """Part of a frame: first column and row, and how many of them, in pixels of the file."""

    column: int
    row: int
    columns: int
    rows: int


def whole_window(size_px: tuple[int, int]) -> Window:
    """All of a frame of so many columns and rows."""
    return Window(0, 0, *size_px)


def read_binned(path: Path, binning: int = 1, window: Window | None = None) -> NDArray[np.float32]:
    """Read a frame's image, averaged over squares of pixels; colour planes are averaged too.

    Parameters
    ----------
    path : Path
        The image taken is the one whose header `read_header` reads.
    binning : int
        Side of the squares. Pixels left over at the end of rows and columns are dropped.
    window : Window, optional
        Only this part; its size is cut down to whole squares.

    Returns
    -------
    ndarray, shape (rows // binning, columns // binning)
        NaN where a pixel of the square is undefined.

    Raises
    ------
    FileError
        If the file cannot be read, is being written, or has vanished.
    """
    with _opened(path) as image:
        size = int(image.shape[-1]), int(image.shape[-2])
        part = window or whole_window(size)
        width, height = part.columns // binning, part.rows // binning
        result = np.empty((height, width), dtype=np.float32)
        strip = max(1, STRIP_PIXELS // max(1, size[0] * binning))
        for first in range(0, height, strip):
            rows = min(strip, height - first)
            start = part.row + first * binning
            values = _section(image, start, rows * binning, part.column, width * binning)
            result[first : first + rows] = _averaged(values, binning)
    return result


def _averaged(values: NDArray[np.float32], binning: int) -> NDArray[np.float32]:
    """Means over squares, column by column: many times faster than a mean over two axes."""
    rows, columns = values.shape
    sums = values.reshape(rows // binning, binning, columns).sum(axis=1)
    total = sums[:, ::binning].copy()
    for offset in range(1, binning):
        total += sums[:, offset::binning]
    averages: NDArray[np.float32] = np.divide(total, binning * binning, dtype=np.float32)
    return averages


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """Open the image part of a FITS file; every fault becomes one sentence."""
    place = read_image_header(path).place
    from astropy.io import fits

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with fits.open(path, mode="readonly", memmap=False, lazy_load_hdus=True) as parts:
                yield parts[place]
    except FileError:
        raise
    except Exception as error:  # damaged files raise whatever their decoding stumbles over
        reason = " ".join(str(error).split()) or type(error).__name__
        raise FileError(f"{path}: its pixels cannot be read ({reason}); copy it again") from error


def _section(image: Any, row: int, rows: int, column: int, columns: int) -> NDArray[np.float32]:
    leading = (slice(None),) * (len(image.shape) - 2)
    part = image.section[(*leading, slice(row, row + rows), slice(None))]  # whole rows: one read
    values = np.asarray(part[..., column : column + columns], dtype=np.float32)
    return values.reshape(-1, rows, columns).mean(axis=0) if leading else values

"""The preview as files: FITS with world coordinates, one image for each filter; PNG in colour or grey."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import InputError
from planner.frames.header.fits_blocks import BLOCK

from .output import PROGRAM

if TYPE_CHECKING:
    from astropy.io.fits import Header

    from planner.frames.header.picture_wcs import PreviewGrid
    from planner.frames.preview.preview import Preview

__all__ = ["check_png_size", "preview_fits", "preview_png"]

STRIP_ROWS = 256
MOST_PNG_PIXELS = 60_000_000


def preview_fits(preview: Preview) -> Iterator[bytes]:
    """Return the content of a FITS file, piece by piece; undefined pixels are NaN (FITS Standard 4.0)."""
    for number, name in enumerate(preview.filters):
        header = _header(preview, number, name).tostring(endcard=True, padding=True).encode("ascii")
        yield header
        plane, size = preview.planes[number], 0
        for first in range(0, len(plane), STRIP_ROWS):
            strip = np.asarray(plane[first : first + STRIP_ROWS], dtype=">f4").tobytes()
            size += len(strip)
            yield strip
        yield bytes(-size % BLOCK)


def _header(preview: Preview, number: int, name: str) -> Header:
    from astropy.io import fits

    columns, rows = preview.grid.size_px
    header = fits.Header()
    if number == 0:
        header["SIMPLE"] = (True, "FITS Standard 4.0")
    else:
        header["XTENSION"] = "IMAGE"
    header["BITPIX"] = -32
    header["NAXIS"] = 2
    header["NAXIS1"], header["NAXIS2"] = columns, rows
    if number == 0:
        header["EXTEND"] = True
    else:
        header["PCOUNT"], header["GCOUNT"] = 0, 1
        header["EXTNAME"] = name
    header.update(preview.grid.cards())
    header["FILTER"] = name
    header["NFRAMES"] = (preview.frames[number], "frames averaged, sky levels matched")
    header["CREATOR"] = (PROGRAM, "program that wrote this file")
    return header


def check_png_size(grid: PreviewGrid) -> None:
    """Refuse a PNG too large to be looked at.

    Raises
    ------
    InputError
        If the grid has more pixels than a PNG may have.
    """
    columns, rows = grid.size_px
    if columns * rows > MOST_PNG_PIXELS:
        raise InputError(
            f"a preview of {columns} x {rows} pixels is too large for PNG, at most {MOST_PNG_PIXELS:,}; "
            "make it smaller or choose a .fits file"
        )


def preview_png(preview: Preview, colours: Sequence[str] | None = None) -> bytes:
    """Return the preview as PNG, the picture's up at the top.

    Parameters
    ----------
    preview : Preview
    colours : sequence of str, optional
        Three filters for red, green and blue; left out, by wavelength.
    """
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    from planner.frames.preview.colours import preview_rgb

    check_png_size(preview.grid)
    about = PngInfo()
    about.add_text("Software", PROGRAM)
    about.add_text("Filters", ", ".join(preview.filters))
    stream = io.BytesIO()
    Image.fromarray(preview_rgb(preview, colours)[::-1]).save(stream, format="PNG", pnginfo=about)
    return stream.getvalue()

"""A camera from a frame's header: its pixels and scale, focal length and pixel size as far as it states them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.rig.camera import ARCSEC_PER_RAD, Camera

__all__ = ["camera_from_header"]

FOCAL_LENGTH, PIXEL_SIZE, BINNING = ("FOCALLEN",), ("XPIXSZ", "PIXSIZE1"), ("XBINNING",)
"""Keywords in common use (common practice, no source): millimetres; micrometres, binned; columns in one pixel."""


def camera_from_header(header: Any) -> Camera:
    """Return the camera that took a frame.

    The scale is that of the header's plate solution. Focal length and pixel size are those that the header
    states; where one is missing it follows from the other by the scale, and where both are stated the scale
    decides the focal length.

    Parameters
    ----------
    header : astropy Header, mapping, or path of a FITS file

    Raises
    ------
    InputError
        If there is no plate solution, or neither focal length nor pixel size.
    """
    cards, solution = _read(header)
    binning = int(_number(cards, BINNING) or 1)
    scale = solution.scale_arcsec_px
    pixel, focal = _number(cards, PIXEL_SIZE), _number(cards, FOCAL_LENGTH)
    if pixel is None and focal is None:
        raise InputError(
            "the header must state XPIXSZ (um) or FOCALLEN (mm), got neither; build the camera by hand"
        )
    if pixel is None:
        pixel = scale * float(focal or 0.0) * 1000.0 / ARCSEC_PER_RAD
    columns, rows = solution.size_px
    return Camera(
        focal_length_mm=pixel / 1000.0 * ARCSEC_PER_RAD / scale,
        sensor_px=(columns * binning, rows * binning),
        pixel_um=pixel / binning,
        binning=binning,
    )


def _read(header: Any) -> tuple[Mapping[str, Any], Any]:
    from planner.frames.header.header import read_header, read_solution, solution_of_text

    if isinstance(header, str | Path):
        return read_header(header), read_solution(header)
    from astropy.io.fits import Header

    cards = header if isinstance(header, Header) else Header(dict(header))
    return cards, solution_of_text(cards.tostring(endcard=False, padding=False), name="the header")


def _number(cards: Mapping[str, Any], names: tuple[str, ...]) -> float | None:
    for name in names:
        value = cards.get(name)
        if isinstance(value, int | float) and not isinstance(value, bool) and value > 0:
            return float(value)
    return None

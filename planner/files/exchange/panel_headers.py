"""One FITS header per panel: the tangent plane that a frame of the panel will have, without pixels.

Text files of 80-character cards, one a line, as `astropy.io.fits.Header.fromtextfile` and most tools that
read world coordinates take them. The cards are set by hand, since thousands of headers by a general library
take longer than everything else together.

Source: FITS standard 4.0, section 4 (cards); Greisen & Calabretta 2002, A&A 395, 1061 and Calabretta &
Greisen 2002, A&A 395, 1077 (world coordinates, TAN).
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator
from typing import TYPE_CHECKING

from planner.rig.camera import Camera

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.mosaic.panel import Panel

__all__ = ["header_of_panel", "panel_header", "panel_headers"]

CARD = 80
LONGEST_TEXT = 66
MARK = "mosaic planner"


def panel_headers(plan: Plan) -> Iterator[tuple[str, bytes]]:
    """Panel names and headers of all panels, in their order."""
    camera = plan.request.camera
    start, middle = _opening(camera), _middle(camera)
    for panel in plan.mosaic.panels:
        yield panel.name, _header(start, _naming(plan.request.title, panel), middle, _pointing(panel, camera))


def panel_header(plan: Plan, name: str) -> bytes:
    """Return the header of one panel, by its name."""
    return dict(panel_headers(plan))[name]


def header_of_panel(title: str, panel: Panel, camera: Camera) -> bytes:
    """Return the header that a camera's frame of a panel will have."""
    return _header(_opening(camera), _naming(title, panel), _middle(camera), _pointing(panel, camera))


def _header(*parts: list[str]) -> bytes:
    lines = [*(line for part in parts for line in part), "END"]
    return ("\n".join(line.ljust(CARD) for line in lines) + "\n").encode("ascii")


def _opening(camera: Camera) -> list[str]:
    columns, rows = camera.binned_px
    return [
        _card("SIMPLE", "T", "header of a frame to be taken; no pixels follow"),
        _card("BITPIX", "16", "bits of a pixel"),
        _card("NAXIS", "2", "image"),
        _card("NAXIS1", str(columns), "columns"),
        _card("NAXIS2", str(rows), "rows"),
        _card("CREATOR", _text(MARK), "program that wrote this header"),
    ]


def _naming(title: str, panel: Panel) -> list[str]:
    return [
        _card("OBJECT", _text(f"{title} {panel.name}"), ""),
        _card("PANEL", _text(panel.name), "name of the panel in the plan"),
    ]


def _middle(camera: Camera) -> list[str]:
    """Cards that are the same for all panels: the window of whole usable pixels, the kind of projection."""
    (col1, col2), (row1, row2) = map(_usable_px, camera.sensor_px, camera.usable, [camera.binning] * 2)
    crpix1, crpix2 = ((pixels / camera.binning + 1) / 2 for pixels in camera.sensor_px)
    return [
        _card("USECOL1", str(col1), "first usable column"),
        _card("USECOL2", str(col2), "last usable column"),
        _card("USEROW1", str(row1), "first usable row"),
        _card("USEROW2", str(row2), "last usable row"),
        _card("WCSAXES", "2", "axes of the world coordinates"),
        _card("CTYPE1", _text("RA---TAN"), "right ascension, tangent plane"),
        _card("CTYPE2", _text("DEC--TAN"), "declination, tangent plane"),
        _card("CUNIT1", _text("deg"), ""),
        _card("CUNIT2", _text("deg"), ""),
        _card("CRPIX1", f"{crpix1:.6f}", "middle of the sensor"),
        _card("CRPIX2", f"{crpix2:.6f}", "middle of the sensor"),
        _card("RADESYS", _text("ICRS"), ""),
        _card("LONPOLE", f"{180:.12f}", "also at a pole, where the default differs"),
    ]


def _usable_px(pixels: int, part: float, binning: int) -> tuple[int, int]:
    """First and last whole binned pixel, from 1, inside the centred part of an axis."""
    whole, rim = pixels / binning, pixels * (1 - part) / 2 / binning
    first, last = math.ceil(rim - 1e-6) + 1, math.floor(whole - rim + 1e-6)
    return first, max(first, last)


def _pointing(panel: Panel, camera: Camera) -> list[str]:
    """Cards of one panel; sky parity: east lies 90 degrees left of up, row numbers grow upwards."""
    angle, scale_deg = math.radians(panel.position_angle_deg), camera.scale_arcsec_px / 3600
    across, along = scale_deg * math.cos(angle), scale_deg * math.sin(angle)
    return [
        _card("CRVAL1", f"{panel.ra_deg:.12f}", "right ascension of the panel's centre"),
        _card("CRVAL2", f"{panel.dec_deg:.12f}", "declination of the panel's centre"),
        _card("LATPOLE", f"{panel.dec_deg:.12f}", ""),
        _card("CD1_1", f"{-across:.13E}", "degrees east, per column"),
        _card("CD1_2", f"{along:.13E}", "degrees east, per row"),
        _card("CD2_1", f"{along:.13E}", "degrees north, per column"),
        _card("CD2_2", f"{across:.13E}", "degrees north, per row"),
    ]


def _text(text: str) -> str:
    """Return a FITS string: ASCII, accents off, other letters as question marks, quotes doubled."""
    plain = unicodedata.normalize("NFKD", text)
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    plain = plain.encode("ascii", "replace").decode()
    plain = "".join(sign if sign.isprintable() else " " for sign in plain).replace("'", "''")[:LONGEST_TEXT]
    odd = (len(plain) - len(plain.rstrip("'"))) % 2
    return f"'{plain[: len(plain) - odd]:8}'"


def _card(key: str, value: str, comment: str) -> str:
    value = f"{value:20}" if value.startswith("'") else f"{value:>20}"
    card = f"{key:8}= {value} / {comment}" if comment else f"{key:8}= {value}"
    return card[:CARD]

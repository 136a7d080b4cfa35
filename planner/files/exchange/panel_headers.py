"""One FITS header per panel: the tangent plane that a frame of the panel will have, without pixels.

Text files of 80-character cards, one a line, as `astropy.io.fits.Header.fromtextfile` and most tools that
read world coordinates take them. The cards are set by hand, since thousands of headers by a general library
take longer than everything else together.

Source: FITS standard 4.0, section 4 (cards); Greisen & Calabretta 2002, A&A 395, 1061 and Calabretta &
Greisen 2002, A&A 395, 1077 (world coordinates, TAN).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from planner.files.output import PROGRAM
from planner.rig.camera import Camera

from .header_cards import CARD, header_card, matrix_cards, opening_cards, text_value

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.mosaic.panel import Panel

__all__ = ["header_of_panel", "panel_headers"]


def panel_headers(plan: Plan) -> Iterator[tuple[str, bytes]]:
    """Panel names and headers of all panels, in their order."""
    camera = plan.request.camera
    start, middle = _opening(camera), _middle(camera)
    for panel in plan.mosaic.panels:
        yield panel.name, _header(start, _naming(plan.request.title, panel), middle, _pointing(panel, camera))


def header_of_panel(title: str, panel: Panel, camera: Camera) -> bytes:
    """Return the header that a camera's frame of a panel will have."""
    return _header(_opening(camera), _naming(title, panel), _middle(camera), _pointing(panel, camera))


def _header(*parts: list[str]) -> bytes:
    lines = [*(line for part in parts for line in part), "END"]
    return ("\n".join(line.ljust(CARD) for line in lines) + "\n").encode("ascii")


def _opening(camera: Camera) -> list[str]:
    return [
        *opening_cards(*camera.binned_px, "header of a frame to be taken; no pixels follow"),
        header_card("CREATOR", text_value(PROGRAM), "program that wrote this header"),
    ]


def _naming(title: str, panel: Panel) -> list[str]:
    return [
        header_card("OBJECT", text_value(f"{title} {panel.name}"), ""),
        header_card("PANEL", text_value(panel.name), "name of the panel in the plan"),
    ]


def _middle(camera: Camera) -> list[str]:
    """Cards that are the same for all panels: the window of whole usable pixels, the kind of projection."""
    (col1, col2), (row1, row2) = map(_usable_px, camera.sensor_px, camera.usable, [camera.binning] * 2)
    crpix1, crpix2 = ((pixels / camera.binning + 1) / 2 for pixels in camera.sensor_px)
    return [
        header_card("USECOL1", str(col1), "first usable column"),
        header_card("USECOL2", str(col2), "last usable column"),
        header_card("USEROW1", str(row1), "first usable row"),
        header_card("USEROW2", str(row2), "last usable row"),
        header_card("WCSAXES", "2", "axes of the world coordinates"),
        header_card("CTYPE1", text_value("RA---TAN"), "right ascension, tangent plane"),
        header_card("CTYPE2", text_value("DEC--TAN"), "declination, tangent plane"),
        header_card("CUNIT1", text_value("deg"), ""),
        header_card("CUNIT2", text_value("deg"), ""),
        header_card("CRPIX1", f"{crpix1:.6f}", "middle of the sensor"),
        header_card("CRPIX2", f"{crpix2:.6f}", "middle of the sensor"),
        header_card("RADESYS", text_value("ICRS"), ""),
        header_card("LONPOLE", f"{180:.12f}", "also at a pole, where the default differs"),
    ]


def _usable_px(pixels: int, part: float, binning: int) -> tuple[int, int]:
    """First and last whole binned pixel, from 1, inside the centred part of an axis."""
    whole, rim = pixels / binning, pixels * (1 - part) / 2 / binning
    first, last = math.ceil(rim - 1e-6) + 1, math.floor(whole - rim + 1e-6)
    return first, max(first, last)


def _pointing(panel: Panel, camera: Camera) -> list[str]:
    """Cards of one panel."""
    return [
        header_card("CRVAL1", f"{panel.ra_deg:.12f}", "right ascension of the panel's centre"),
        header_card("CRVAL2", f"{panel.dec_deg:.12f}", "declination of the panel's centre"),
        header_card("LATPOLE", f"{panel.dec_deg:.12f}", ""),
        *matrix_cards(panel.position_angle_deg, camera.scale_arcsec_px / 3600),
    ]

"""World coordinates as header cards: of frames cut and averaged, and of the preview.

Sources: Greisen & Calabretta 2002, A&A 395, 1061 (linear cards); Calabretta & Greisen 2002, A&A 395, 1077
(TAN); Shupe et al. 2005, ASP Conf. Ser. 347, 491 (SIP).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .pixels import Window

if TYPE_CHECKING:
    from astropy.wcs import WCS

__all__ = ["PreviewGrid", "binned_cards", "wcs_of_cards"]

Cards = Mapping[str, float | str]
_SIP_TERM = re.compile(r"[AB]P?_(\d)_(\d)\Z")


def wcs_of_cards(cards: Cards) -> WCS:
    """World coordinates that cards describe."""
    from astropy.io import fits
    from astropy.wcs import WCS

    return WCS(fits.Header(cards))


def binned_cards(cards: Cards, window: Window, binning: int) -> Cards:
    """Cards of a part of a frame, averaged over squares of pixels of this side.

    Pixel x of the file, from 1, is pixel (x - column - 1/2) / binning + 1/2 of the part. Powers u^p v^q
    of the SIP polynomials take the factor binning^(p + q - 1).
    """
    result = dict(cards)
    for axis, first in ((1, window.column), (2, window.row)):
        result[f"CRPIX{axis}"] = (float(cards[f"CRPIX{axis}"]) - first - 0.5) / binning + 0.5
    steps = [key for key in cards if re.match(r"CD\d_\d\Z", key)] or [
        key for key in cards if key[:5] == "CDELT"
    ]
    for key in steps:
        result[key] = float(cards[key]) * binning
    for key in cards:
        if term := _SIP_TERM.match(key):
            result[key] = float(cards[key]) * binning ** (int(term[1]) + int(term[2]) - 1)
    return result


@dataclass(frozen=True)
class PreviewGrid:
    """Pixels of a preview: the plan's picture at some scale, row 1 at the bottom.

    Parameters
    ----------
    center_deg : (float, float)
        ICRS.
    position_angle_deg : float
        Of the picture's up, degrees east of north.
    scale_arcsec_px : float
        At the centre.
    size_px : (int, int)
        Columns and rows.
    """

    center_deg: tuple[float, float]
    position_angle_deg: float
    scale_arcsec_px: float
    size_px: tuple[int, int]

    def cards(self, window: Window | None = None) -> Cards:
        """Cards of the whole grid or of a part of it."""
        step, turn = self.scale_arcsec_px / 3600.0, math.radians(self.position_angle_deg)
        columns, rows = self.size_px
        first = window or Window(0, 0, columns, rows)
        return {
            "WCSAXES": 2,
            "CTYPE1": "RA---TAN",
            "CTYPE2": "DEC--TAN",
            "CUNIT1": "deg",
            "CUNIT2": "deg",
            "RADESYS": "ICRS",
            "CRVAL1": self.center_deg[0],
            "CRVAL2": self.center_deg[1],
            "CRPIX1": (columns + 1) / 2 - first.column,
            "CRPIX2": (rows + 1) / 2 - first.row,
            "CD1_1": -step * math.cos(turn),
            "CD1_2": step * math.sin(turn),
            "CD2_1": step * math.sin(turn),
            "CD2_2": step * math.cos(turn),
            "LONPOLE": 180.0,
        }

    def coarser(self, longest_px: int) -> PreviewGrid:
        """Return the same ground in at most so many pixels along the longer side."""
        factor = max(1.0, max(self.size_px) / longest_px)
        columns, rows = (max(1, math.ceil(count / factor)) for count in self.size_px)
        return PreviewGrid(
            self.center_deg, self.position_angle_deg, self.scale_arcsec_px * factor, (columns, rows)
        )

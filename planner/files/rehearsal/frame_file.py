"""A made-up frame as a FITS file: unsigned 16-bit pixels, a header as capture programs write it, and our mark.

Source: FITS Standard 4.0 (IAU FITS Working Group 2018), sections 3.1, 4.4 (BZERO for unsigned numbers: 5.2.5);
Calabretta & Greisen 2002, A&A 395, 1077 (TAN). IMAGETYP, FILTER, XBINNING, YBINNING, RA, DEC, FOCALLEN,
XPIXSZ and YPIXSZ: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
from numpy.typing import NDArray

from planner.answers.rehearsal.frame_maker import MadeUpFrame
from planner.answers.rehearsal.rehearsal import HEADER_BYTES, Rehearsal
from planner.files.exchange.header_cards import CARD, header_card, matrix_cards, opening_cards, text_value
from planner.files.output import PROGRAM
from planner.frames.header.fits_blocks import BLOCK
from planner.frames.header.made_up import MADE_UP, MADE_UP_WHY
from planner.frames.made_up.painter import FramePainter, Look

__all__ = ["FrameWriter"]

HALF = 32768
TRAIL_PX = (14.0, 22.0)
"""Length of the streaks in a trailed frame."""
CLOUDS_MAG = 9.0
"""Clouds dim the stars by so many magnitudes: hardly one is left."""


class FrameWriter:
    """Makes the files of a rehearsal.

    Parameters
    ----------
    rehearsal : Rehearsal
    """

    def __init__(self, rehearsal: Rehearsal) -> None:
        self.rehearsal = rehearsal
        self.painter = FramePainter(rehearsal.plan.request.camera, rehearsal.binning)
        self._opening = _opening(rehearsal, self.painter)

    def content(self, frame: MadeUpFrame, number: int) -> bytes:
        """Return the bytes of one frame.

        Parameters
        ----------
        frame : MadeUpFrame
        number : int
            Its place in the rehearsal; it decides noise and sky together with the rehearsal's seed.
        """
        random = np.random.default_rng([self.rehearsal.seed, 2, number])
        pixels = self.painter.pixels(frame.aim, _look(frame, random), random)
        solution = _solution(frame, self.painter) if frame.solved else []
        return _header([*self._opening, *_facts(frame), *solution]) + _data(pixels)


def _header(cards: list[str]) -> bytes:
    """Cards, blank ones up to the last of all, and that: each header has the same length."""
    text = "".join(card.ljust(CARD) for card in cards)
    return (text.ljust(HEADER_BYTES - CARD) + "END".ljust(CARD)).encode("ascii")


def _data(pixels: NDArray[np.uint16]) -> bytes:
    """Big-endian signed numbers, less by half of the range, in whole blocks."""
    signed = (pixels ^ np.uint16(HALF)).astype(">u2").tobytes()
    return signed + bytes(-len(signed) % BLOCK)


def _look(frame: MadeUpFrame, random: np.random.Generator) -> Look:
    """Seeing and sky of a frame, and what its faults do to them."""
    fwhm, sky = float(random.uniform(2.2, 2.9)), float(random.uniform(700.0, 900.0))
    if "clouds" in frame.faults:
        return Look(fwhm, 2.0 * sky, dimmed_mag=CLOUDS_MAG)
    if "trailed" in frame.faults:
        length, way = float(random.uniform(*TRAIL_PX)), float(random.uniform(0.0, math.pi))
        return Look(fwhm, sky, trail_px=(length * math.cos(way), length * math.sin(way)))
    return Look(fwhm, sky)


def _opening(rehearsal: Rehearsal, painter: FramePainter) -> list[str]:
    """Cards that all frames share."""
    camera, binning = rehearsal.plan.request.camera, str(painter.binning)
    pitch = f"{camera.pixel_um * painter.binning:.4f}"
    return [
        *opening_cards(*painter.size_px, "FITS Standard 4.0"),
        header_card("BSCALE", "1", ""),
        header_card("BZERO", str(HALF), "unsigned numbers"),
        header_card(MADE_UP, "T", MADE_UP_WHY),
        header_card("CREATOR", text_value(PROGRAM), "program that made it up"),
        header_card("IMAGETYP", text_value("Light Frame"), ""),
        header_card("XBINNING", binning, "columns of the sensor in a pixel"),
        header_card("YBINNING", binning, "rows of the sensor in a pixel"),
        header_card("XPIXSZ", pitch, "width of a pixel, micrometres, binned"),
        header_card("YPIXSZ", pitch, "height of a pixel, micrometres, binned"),
        header_card("FOCALLEN", f"{camera.focal_length_mm:.4f}", "mm"),
    ]


def _facts(frame: MadeUpFrame) -> list[str]:
    """Cards of one frame; RA and DEC are what the mount was told."""
    begun = dt.datetime.fromtimestamp(frame.exposure.start_s, tz=dt.UTC).strftime("%Y-%m-%dT%H:%M:%S")
    stacked = [header_card("NCOMBINE", str(frame.stacked), "exposures stacked")] if frame.stacked > 1 else []
    return [
        header_card("OBJECT", text_value(frame.panel), "panel that was asked for"),
        header_card("FILTER", text_value(frame.filter_told), ""),
        header_card("EXPTIME", f"{frame.exposure_s:.3f}", "seconds"),
        *stacked,
        header_card("DATE-OBS", text_value(begun), "begin of the exposure, UTC"),
        header_card("RA", f"{frame.planned.ra_deg:.6f}", "pointing asked for, degrees"),
        header_card("DEC", f"{frame.planned.dec_deg:.6f}", "pointing asked for, degrees"),
    ]


def _solution(frame: MadeUpFrame, painter: FramePainter) -> list[str]:
    """Cards of the plate solution."""
    aim, (columns, rows) = frame.aim, painter.size_px
    return [
        header_card("CTYPE1", text_value("RA---TAN"), ""),
        header_card("CTYPE2", text_value("DEC--TAN"), ""),
        header_card("CUNIT1", text_value("deg"), ""),
        header_card("CUNIT2", text_value("deg"), ""),
        header_card("CRPIX1", f"{(columns + 1) / 2:.1f}", "middle of the frame"),
        header_card("CRPIX2", f"{(rows + 1) / 2:.1f}", "middle of the frame"),
        header_card("CRVAL1", f"{aim.ra_deg:.10f}", "right ascension there"),
        header_card("CRVAL2", f"{aim.dec_deg:.10f}", "declination there"),
        *matrix_cards(aim.position_angle_deg, painter.scale_arcsec_px / 3600.0),
        header_card("RADESYS", text_value("ICRS"), ""),
        header_card("LONPOLE", "180.0", "also at a pole, where the default differs"),
    ]

"""Solving frames of a plan whose headers hold no plate solution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from planner.mosaic.panel import Panel, panel_frames
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .cards import ImageHeader
from .fits_blocks import read_image_header
from .pixels import read_binned
from .solution_cards import Cards, fit_cards, solution_of_header, with_cards
from .solve import Refusal, SolvedStars, solve_stars
from .star_detection import detect_stars
from .star_ground import StarGround

__all__ = ["FrameSolver", "SolvedFrame"]

LONG_SIDE_PX = 3500
"""Longer frames are averaged over squares of pixels before their stars are sought."""


@dataclass(frozen=True)
class SolvedFrame:
    """A frame solved here: its plate solution, the same as header cards, and what speaks for it."""

    solution: PlateSolution
    cards: Cards
    stars: SolvedStars


class FrameSolver:
    """Solves frames with a plan's camera as the hint of scale and its panels as the hint of position.

    Parameters
    ----------
    camera : Camera
    panels : sequence of Panel
    """

    def __init__(self, camera: Camera, panels: Sequence[Panel]) -> None:
        self.camera = camera
        self._centers = panel_frames(panels)[:, 2]

    @cached_property
    def ground(self) -> StarGround:
        """Catalogue stars over the plan, read on first use."""
        return StarGround.about(self._centers, self.camera.field)

    def solve(self, path: Path) -> SolvedFrame | Refusal:
        """Solve one frame from its pixels; the file is only read.

        Raises
        ------
        FileError
            If the file cannot be read.
        """
        header = read_image_header(path)
        if kind := _calibration_kind(header):
            return Refusal(f"it is a {kind} frame, which shows no sky")
        size = int(header.number("NAXIS1", 0)), int(header.number("NAXIS2", 0))
        squares = max(-(-max(size) // LONG_SIDE_PX), 2 if "BAYERPAT" in header.values else 1)
        pixels = read_binned(path, squares)
        scale = self._scale_arcsec_px(header, size[0]) * squares
        found = solve_stars(detect_stars(pixels), (pixels.shape[1], pixels.shape[0]), scale, self.ground)
        if isinstance(found, Refusal):
            return found
        cards = fit_cards(found.fit, squares)
        return SolvedFrame(solution_of_header(with_cards(header, cards)), cards, found)

    def _scale_arcsec_px(self, header: ImageHeader, columns: int) -> float:
        """Expect a scale of the file's pixels: by its XBINNING, else by how many columns it has."""
        unbinned = self.camera.scale_arcsec_px / self.camera.binning
        if "XBINNING" in header.values:
            return unbinned * max(1.0, header.number("XBINNING", 1.0))
        return unbinned * max(1, round(self.camera.sensor_px[0] / max(columns, 1)))


def _calibration_kind(header: ImageHeader) -> str | None:
    """Return 'dark', 'bias' or 'flat' where IMAGETYP says so."""
    kind = (header.string("IMAGETYP") or "").lower()
    return next((word for word in ("dark", "bias", "flat") if word in kind), None)

"""Solving frames of a plan whose headers hold no plate solution."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from planner.frames.header.cards import ImageHeader, calibration_kind
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.made_up import is_made_up
from planner.frames.header.pixels import read_binned
from planner.frames.header.solution_facts import image_size
from planner.mosaic.panel import Panel, panel_bases
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .pointing_hint import pointing_hint
from .solution_cards import Cards, fit_cards, solution_of_header, with_cards
from .solve import Refusal, SolvedStars, solve_stars
from .star_detection import detect_stars
from .star_ground import StarGround

__all__ = ["FrameSolver", "SolvedFrame"]

LOCAL_PANELS = 9
"""Panels about a frame's own pointing that are looked at first, where the plan has more."""
MOST_PANELS = 200
"""Plans of more panels are only searched about the frame's own pointing."""
VAST = "its header tells no pointing (RA, DEC) near the plan, which is too large to be searched as a whole"
LONG_SIDE_PX = 3500
"""Longer frames are averaged over squares of pixels before their stars are sought."""


@dataclass(frozen=True)
class SolvedFrame:
    """A frame solved here: its plate solution, the same as header cards, and what speaks for it.

    Parameters
    ----------
    solution : PlateSolution
    cards : mapping
    stars : SolvedStars
    made_up : bool
        Whether its header says that a rehearsal made it up.
    """

    solution: PlateSolution
    cards: Cards
    stars: SolvedStars
    made_up: bool = False


class FrameSolver:
    """Solves frames with a plan's camera as the hint of scale and its panels as the hint of position.

    Parameters
    ----------
    camera : Camera
    panels : sequence of Panel
    """

    def __init__(self, camera: Camera, panels: Sequence[Panel]) -> None:
        self.camera = camera
        self._centers = panel_bases(panels)[:, 2]
        self._local: dict[int, StarGround] = {}

    @cached_property
    def key(self) -> str:
        """Stands for camera and places: solvers of one key solve the same frames."""
        places = np.round(self._centers, 6).tobytes()
        return hashlib.sha256(repr(self.camera).encode() + places).hexdigest()[:16]

    @cached_property
    def ground(self) -> StarGround:
        """Catalogue stars over the plan, read on first use."""
        return StarGround.about(self._centers, self.camera.field)

    def _grounds(self, header: ImageHeader) -> Iterator[StarGround]:
        """Where to look: about the pointing that the header tells, then over the whole plan if it is not vast."""
        hint = pointing_hint(header)
        few = len(self._centers) <= MOST_PANELS
        if hint is not None and len(self._centers) > LOCAL_PANELS:
            nearest = int(np.argmax(self._centers @ hint))
            reach = np.radians(2 * np.hypot(self.camera.field.width_deg, self.camera.field.height_deg))
            if self._centers[nearest] @ hint > np.cos(min(reach, np.pi)):
                yield self._ground_about(nearest)
        if few:
            yield self.ground

    def _ground_about(self, panel: int) -> StarGround:
        """Catalogue stars about the panels nearest to one of them."""
        if panel not in self._local:
            near = np.argsort(-(self._centers @ self._centers[panel]), kind="stable")[:LOCAL_PANELS]
            self._local[panel] = StarGround.about(self._centers[near], self.camera.field)
        return self._local[panel]

    def solve(self, path: Path) -> SolvedFrame | Refusal:
        """Solve one frame from its pixels; the file is only read.

        Raises
        ------
        FileError
            If the file cannot be read.
        """
        header = read_image_header(path)
        if kind := calibration_kind(header):
            return Refusal(f"it is a {kind} frame, which shows no sky")
        size = image_size(header)
        squares = max(-(-max(size) // LONG_SIDE_PX), 2 if "BAYERPAT" in header.values else 1)
        pixels = read_binned(path, squares)
        scale = self._scale_arcsec_px(header, size[0]) * squares
        stars, shape = detect_stars(pixels), (pixels.shape[1], pixels.shape[0])
        found: SolvedStars | Refusal = Refusal(VAST)
        for ground in self._grounds(header):
            found = solve_stars(stars, shape, scale, ground)
            if isinstance(found, SolvedStars):
                break
        if isinstance(found, Refusal):
            return found
        cards = fit_cards(found.fit, squares)
        return SolvedFrame(solution_of_header(with_cards(header, cards)), cards, found, is_made_up(header))

    def _scale_arcsec_px(self, header: ImageHeader, columns: int) -> float:
        """Expect a scale of the file's pixels: by its XBINNING, else by how many columns it has."""
        unbinned = self.camera.scale_arcsec_px / self.camera.binning
        if "XBINNING" in header.values:
            return unbinned * max(1.0, header.number("XBINNING", 1.0))
        return unbinned * max(1, round(self.camera.sensor_px[0] / max(columns, 1)))

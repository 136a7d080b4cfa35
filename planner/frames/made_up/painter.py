"""The pixels of a made-up frame: sky, catalogue stars where they belong, noise; clouds and trails.

Stars are round, of a Gaussian profile; how wide they are, how bright sky and stars are, is invented. The
positions are those of a flat sensor behind a lens without distortion.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.catalogue.stars import Stars, stars_within
from planner.geometry import vector_to_plane
from planner.rig.camera import ARCSEC_PER_RAD, Camera

from .aim import Aim

__all__ = ["FramePainter", "Look"]

Values = NDArray[np.float64]
ZERO_MAG = 19.0
"""A star of this magnitude gives one count in all."""
NOISE = 12.0
"""Counts, root mean square."""
REACH_FWHM = 2.5
"""A star is drawn up to so many of its widths from its middle: less than a count is left out of most."""
MOST_STARS = 3000
"""Of a frame, the brightest; a wide field holds more than its pixels can show."""
WIDEST_RAD = 1.4
FULL = 65535.0


@dataclass(frozen=True)
class Look:
    """What sky and tracking do to a frame.

    Parameters
    ----------
    fwhm_px : float
        Full width of a star at half of its peak.
    sky : float
        Counts of the sky.
    dimmed_mag : float
        By how much clouds dim the stars.
    trail_px : (float, float)
        How far the sky moved during the exposure, along rows and along columns.
    """

    fwhm_px: float = 2.5
    sky: float = 800.0
    dimmed_mag: float = 0.0
    trail_px: tuple[float, float] = (0.0, 0.0)


class FramePainter:
    """Draws frames of a camera.

    Parameters
    ----------
    camera : Camera
    binning : int
        Sensor pixels along a side of a pixel drawn.
    """

    def __init__(self, camera: Camera, binning: int) -> None:
        self.binning = binning
        self.size_px = camera.sensor_px[0] // binning, camera.sensor_px[1] // binning
        self.pixel_rad = camera.pixel_um * 1e-3 * binning / camera.focal_length_mm

    @property
    def scale_arcsec_px(self) -> float:
        """Scale of the pixels drawn, at the centre."""
        return ARCSEC_PER_RAD * self.pixel_rad

    def pixels(self, aim: Aim, look: Look, random: np.random.Generator) -> NDArray[np.uint16]:
        """Draw a frame.

        Returns
        -------
        ndarray of uint16, shape (rows, columns)
            The first row is row 1 of a FITS file: up is towards larger row numbers.
        """
        columns, rows = self.size_px
        counts = random.standard_normal((rows, columns), dtype=np.float32)
        counts *= np.float32(NOISE)
        counts += self._sky(look, random)
        xy, flux = self._stars(aim, look)
        _add_stars(counts, *_along_trail(xy, flux, look), look.fwhm_px)
        return np.clip(np.rint(counts), 0.0, FULL).astype(np.uint16)

    def _sky(self, look: Look, random: np.random.Generator) -> NDArray[np.float32]:
        """Sky with a gentle slope; the slope is a part of the sky of at most a tenth."""
        columns, rows = self.size_px
        across, along = random.uniform(-0.05, 0.05, 2)
        x = np.linspace(-across, across, columns, dtype=np.float32)
        y = np.linspace(-along, along, rows, dtype=np.float32)
        return np.asarray(np.float32(look.sky) * (1 + x + y[:, None]), dtype=np.float32)

    def _stars(self, aim: Aim, look: Look) -> tuple[Values, Values]:
        """Pixel positions (x, y) from 0, shape (N, 2), and counts of the stars in and just beside a frame."""
        size = np.array(self.size_px)
        basis = aim.basis
        radius = min(WIDEST_RAD, 1.05 * float(np.arctan(np.hypot(*size) / 2 * self.pixel_rad)))
        stars = _stars_about(tuple(basis[2].tolist()), radius)
        plane = vector_to_plane(stars.vectors, basis) / self.pixel_rad
        xy = (size - 1) / 2 + plane * [-1.0, 1.0]
        rim = REACH_FWHM * look.fwhm_px + max(map(abs, look.trail_px))
        inside = np.flatnonzero(np.all((xy > -rim) & (xy < size - 1 + rim), axis=1))[:MOST_STARS]
        flux = 10.0 ** (0.4 * (ZERO_MAG - look.dimmed_mag - stars.magnitude[inside]))
        return xy[inside], flux


@lru_cache(maxsize=4)
def _stars_about(center: tuple[float, float, float], radius_rad: float) -> Stars:
    return stars_within(center, radius_rad)


def _along_trail(xy: Values, flux: Values, look: Look) -> tuple[Values, Values]:
    """Stars spread along the trail, a step for each pixel of its length."""
    steps = 1 + int(np.hypot(*look.trail_px))
    shares = (np.arange(steps) + 0.5) / steps - 0.5
    spread = xy[None] + shares[:, None, None] * np.array(look.trail_px)
    return spread.reshape(-1, 2), np.tile(flux / steps, steps)


def _add_stars(counts: NDArray[np.float32], xy: Values, flux: Values, fwhm_px: float) -> None:
    """Add round stars at (x, y), from 0 at the first pixel's centre, all of them at once."""
    sigma = fwhm_px / np.sqrt(8.0 * np.log(2.0))
    half = int(np.ceil(REACH_FWHM * fwhm_px))
    steps, nearest = np.arange(-half, half + 1), np.rint(xy).astype(np.intp)
    squares = nearest[:, :, None] + steps  # columns and rows of the square about each star
    profile = np.exp(-0.5 * ((squares - xy[:, :, None]) / sigma) ** 2) / (sigma * np.sqrt(2.0 * np.pi))
    inside = (squares >= 0) & (squares < np.array(counts.shape[::-1])[:, None])
    profile, squares = np.where(inside, profile, 0.0), np.where(inside, squares, 0)
    places = squares[:, 1, :, None] * counts.shape[1] + squares[:, 0, None, :]
    light = flux[:, None, None] * profile[:, 1, :, None] * profile[:, 0, None, :]
    counts += np.bincount(places.ravel(), light.ravel(), counts.size).reshape(counts.shape).astype(np.float32)

"""A plate solution: where one frame looks, how it is turned, and how large its pixels are on the sky."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import sky_basis

__all__ = ["PlateSolution"]

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class PlateSolution:
    """What the world coordinates of one frame say, at the frame's centre and its corners.

    Parameters
    ----------
    ra_deg, dec_deg : float
        Of the frame's centre, FITS pixel ((columns + 1) / 2, (rows + 1) / 2); ICRS degrees.
    position_angle_deg : float
        Of the direction towards larger FITS row numbers, at the frame's centre; degrees east of north in
        [0, 360), against the ICRS pole.
    scale_x_arcsec_px, scale_y_arcsec_px : float
        Arc seconds on the sky a pixel of the file (binned pixels where the frame is binned), along rows and
        along columns, at the frame's centre.
    parity : {'sky', 'mirrored'}
        'sky': turned to north up, east is left when row 1 is at the bottom. 'mirrored': east is right.
    size_px : (int, int)
        Columns and rows of the file.
    axis_skew_deg : float
        By how much the angle between the pixel axes differs from 90 degrees.
    corners : tuple of four (x, y, z)
        ICRS unit vectors of the outer corners of the frame, distortion included; in the order SE, SW, NW, NE
        as seen at position angle 0: counter-clockwise from inside the sphere, whatever the parity.
    distortion_corner_arcsec : float
        Largest distance of a corner from where a flat sensor behind a lens without distortion has it.
    system : str
        The coordinate system that the file states, such as ``ICRS`` or ``FK5, equinox 1950``; all numbers
        here have been converted to ICRS.
    binning : (int, int), optional
        Columns and rows that make one pixel; None where the file does not say.
    filter, exposure_s, date_obs, image_type, target : optional
        As the file states them; None where it does not.
    distortion : str
        ``none``, or the kind of distortion that the file describes, such as ``SIP``.
    """

    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    scale_x_arcsec_px: float
    scale_y_arcsec_px: float
    parity: Literal["sky", "mirrored"]
    size_px: tuple[int, int]
    axis_skew_deg: float
    corners: tuple[Vector, Vector, Vector, Vector]
    distortion_corner_arcsec: float = 0.0
    system: str = "ICRS"
    binning: tuple[int, int] | None = None
    filter: str | None = None
    exposure_s: float | None = None
    date_obs: str | None = None
    image_type: str | None = None
    target: str | None = None
    distortion: str = "none"

    def __post_init__(self) -> None:
        numbers = (self.ra_deg, self.dec_deg, self.position_angle_deg, self.axis_skew_deg)
        if not all(math.isfinite(value) for value in (*numbers, self.distortion_corner_arcsec)):
            raise InputError("a plate solution must have finite numbers")
        if not (0.0 < self.scale_x_arcsec_px < 36000.0 and 0.0 < self.scale_y_arcsec_px < 36000.0):
            raise InputError(
                "a plate solution's scales must be in (0, 36000) arc seconds a pixel, "
                f"got {self.scale_x_arcsec_px:g} and {self.scale_y_arcsec_px:g}"
            )

    @property
    def scale_arcsec_px(self) -> float:
        """Mean scale: the square root of a pixel's area on the sky, arc seconds."""
        cosine = math.cos(math.radians(self.axis_skew_deg))
        return math.sqrt(self.scale_x_arcsec_px * self.scale_y_arcsec_px * cosine)

    @property
    def corner_vectors(self) -> NDArray[np.float64]:
        """The corners as an array, shape (4, 3), ICRS unit vectors SE, SW, NW, NE as at position angle 0."""
        return np.array(self.corners)

    @property
    def frame(self) -> NDArray[np.float64]:
        """Tangent plane frame (left, up, out) at the frame's centre, shape (3, 3)."""
        return sky_basis(self.ra_deg, self.dec_deg, self.position_angle_deg)

    @property
    def field_deg(self) -> tuple[float, float]:
        """Full width and height of the frame: 2 arctan of half the sensor in its tangent plane, degrees."""
        scales = (self.scale_x_arcsec_px, self.scale_y_arcsec_px)
        width, height = (
            2 * math.degrees(math.atan(math.radians(scale * count / 7200.0)))
            for scale, count in zip(scales, self.size_px, strict=True)
        )
        return width, height

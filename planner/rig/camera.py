"""Camera and telescope: field of view and image scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.checks import require
from planner.geometry import steady
from planner.mosaic.panel import Field

__all__ = ["ARCSEC_PER_RAD", "Camera"]

ARCSEC_PER_RAD = 206264.80624709636


@dataclass(frozen=True)
class Camera:
    """A flat sensor behind a lens without distortion.

    Parameters
    ----------
    focal_length_mm : float
        As it works, reducer or flattener included.
    sensor_px : (int, int)
        Columns and rows, unbinned.
    pixel_um : float
        Pixel pitch, unbinned.
    aperture_mm : float, optional
    binning : int
    usable : (float, float)
        Centred fraction of width and height that is good enough to use, in (0, 1].

    Raises
    ------
    InputError
        If a value is out of range.

    >>> camera = Camera(380.0, (6000, 4000), 3.9)
    >>> round(camera.scale_arcsec_px, 6)
    2.116928
    """

    focal_length_mm: float
    sensor_px: tuple[int, int]
    pixel_um: float
    aperture_mm: float | None = None
    binning: int = 1
    usable: tuple[float, float] = (1.0, 1.0)

    def __post_init__(self) -> None:
        require(
            1.0 <= self.focal_length_mm <= 100_000.0,
            f"camera.focal_length_mm must be in [1, 100000], got {self.focal_length_mm:g}; give millimetres",
        )
        require(
            len(self.sensor_px) == 2 and all(1 <= n <= 100_000 for n in self.sensor_px),
            f"camera.sensor_px must be two whole numbers in [1, 100000], got {list(self.sensor_px)}; "
            "give columns, rows",
        )
        require(
            0.1 <= self.pixel_um <= 1000.0,
            f"camera.pixel_um must be in [0.1, 1000], got {self.pixel_um:g}; give micrometres",
        )
        require(
            self.aperture_mm is None or 0.0 < self.aperture_mm <= 100_000.0,
            f"camera.aperture_mm must be in (0, 100000], got {self.aperture_mm}; give millimetres",
        )
        require(
            1 <= self.binning <= min(64, *self.sensor_px),
            f"camera.binning must be in [1, 64] and no larger than the sensor, got {self.binning}",
        )
        require(
            len(self.usable) == 2 and all(0.0 < part <= 1.0 for part in self.usable),
            f"camera.usable must be two fractions in (0, 1], got {list(self.usable)}; "
            "give fractions, not per cent",
        )

    @property
    def scale_arcsec_px(self) -> float:
        """Image scale of binned pixels at the centre, arc seconds a pixel."""
        return ARCSEC_PER_RAD * self.pixel_um * 1e-3 * self.binning / self.focal_length_mm

    @property
    def binned_px(self) -> tuple[int, int]:
        """Columns and rows of a binned frame."""
        return self.sensor_px[0] // self.binning, self.sensor_px[1] // self.binning

    @property
    def field(self) -> Field:
        """The usable field: 2 arctan(size / 2f) on each axis.

        >>> field = Camera(500.0, (3600, 2400), 10.0).field
        >>> round(field.width_deg, 5), round(field.height_deg, 5)
        (4.12352, 2.74967)
        """
        sizes_mm = (
            n * self.pixel_um * 1e-3 * part for n, part in zip(self.sensor_px, self.usable, strict=True)
        )
        width_deg, height_deg = (
            2 * math.degrees(steady.arctan2(size, 2 * self.focal_length_mm)) for size in sizes_mm
        )
        return Field(width_deg, height_deg)

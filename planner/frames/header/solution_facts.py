"""From the way a frame's pixels look to the values of a plate solution; the same for every kind of header."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple, Protocol

from planner.errors import FileError
from planner.rig.camera import ARCSEC_PER_RAD
from planner.rig.plate_solution import PlateSolution

from .cards import ImageHeader

__all__ = ["PixelView", "Plane", "image_size", "make_solution"]

Vector = tuple[float, float, float]


class PixelView(NamedTuple):
    """Where one pixel looks: an ICRS unit vector, and its change along rows and columns, radians a pixel."""

    sight: Vector
    along_x: Vector
    along_y: Vector


class Plane(Protocol):
    """The way from FITS pixels, the centre of the first being (1, 1), to the sky."""

    def sight(self, x: float, y: float) -> Vector:
        """Where a pixel looks: an ICRS unit vector."""

    def view(self, x: float, y: float) -> PixelView:
        """Where a pixel looks, and how that moves along rows and columns."""


def make_solution(header: ImageHeader, plane: Plane, system: str, distortion: str) -> PlateSolution:
    """Plate solution of an image.

    Parameters
    ----------
    header : ImageHeader
    plane : Plane
    system, distortion : str
        In words, as `PlateSolution` keeps them.
    """
    nx, ny = image_size(header)
    middle = plane.view((nx + 1) / 2, (ny + 1) / 2)
    x, y, z = middle.sight
    ra, dec = math.atan2(y, x), math.atan2(z, math.hypot(x, y))
    angle_x, angle_y = (_position_angle(ra, dec, along) for along in (middle.along_x, middle.along_y))
    parity, skew = _parity_and_skew(angle_x, angle_y)
    corners = [plane.sight(x, y) for x, y in _corner_pixels(nx, ny, parity)]
    far = _distortion(middle, nx, ny, parity, corners)
    return PlateSolution(
        ra_deg=math.degrees(ra) % 360.0 % 360.0,
        dec_deg=math.degrees(dec),
        position_angle_deg=math.degrees(angle_y) % 360.0 % 360.0,
        scale_x_arcsec_px=math.hypot(*middle.along_x) * ARCSEC_PER_RAD,
        scale_y_arcsec_px=math.hypot(*middle.along_y) * ARCSEC_PER_RAD,
        parity=parity,
        size_px=(nx, ny),
        axis_skew_deg=skew,
        corners=(corners[0], corners[1], corners[2], corners[3]),
        distortion_corner_arcsec=far * ARCSEC_PER_RAD,
        system=system,
        distortion=distortion,
        binning=_binning(header),
        filter=header.string("FILTER"),
        exposure_s=_exposure(header),
        date_obs=header.string("DATE-OBS"),
        image_type=header.string("IMAGETYP"),
        target=header.string("OBJECT"),
    )


def image_size(header: ImageHeader) -> tuple[int, int]:
    """Columns and rows of an image."""
    return int(header.number("NAXIS1", 0.0)), int(header.number("NAXIS2", 0.0))


def _position_angle(ra: float, dec: float, move: Vector) -> float:
    """Position angle of a direction at a place on the sky, radians east of north."""
    east = -math.sin(ra) * move[0] + math.cos(ra) * move[1]
    north = -math.sin(dec) * (math.cos(ra) * move[0] + math.sin(ra) * move[1]) + math.cos(dec) * move[2]
    return math.atan2(east, north)


def _parity_and_skew(angle_x: float, angle_y: float) -> tuple[Literal["sky", "mirrored"], float]:
    """Parity and skew: on the sky x points 90 degrees before y in position angle, mirrored behind it."""
    turn = math.degrees(math.remainder(angle_y - angle_x, 2 * math.pi))
    return ("sky", turn - 90.0) if turn > 0.0 else ("mirrored", -90.0 - turn)


def _corner_pixels(nx: int, ny: int, parity: str) -> list[tuple[float, float]]:
    """Outer corners SE, SW, NW, NE as at position angle 0; seen mirrored, east is at the right."""
    left, right = 0.5, nx + 0.5
    if parity == "mirrored":
        left, right = right, left
    return [(left, 0.5), (right, 0.5), (right, ny + 0.5), (left, ny + 0.5)]


def _distortion(middle: PixelView, nx: int, ny: int, parity: str, corners: list[Vector]) -> float:
    """Largest distance, radians, of a corner from its place on a flat sensor without distortion."""
    largest = 0.0
    (sx, sy, sz), (ax, ay, az), (bx, by, bz) = middle
    for (x, y), corner in zip(_corner_pixels(nx, ny, parity), corners, strict=True):
        u, v = x - (nx + 1) / 2, y - (ny + 1) / 2
        px, py, pz = sx + u * ax + v * bx, sy + u * ay + v * by, sz + u * az + v * bz
        length = math.sqrt(px * px + py * py + pz * pz)
        largest = max(largest, math.dist((px / length, py / length, pz / length), corner))
    return 2 * math.asin(min(1.0, largest / 2))


def _binning(header: ImageHeader) -> tuple[int, int] | None:
    if "XBINNING" not in header.values:
        return None
    across = int(header.number("XBINNING", 1.0))
    down = int(header.number("YBINNING", float(across)))
    if across < 1 or down < 1:
        raise FileError(
            f"{header.path}: XBINNING must be 1 or more, got {across} and {down}; correct the header"
        )
    return across, down


def _exposure(header: ImageHeader) -> float | None:
    for key in ("EXPTIME", "EXPOSURE"):
        if key in header.values:
            return header.number(key, 0.0)
    return None

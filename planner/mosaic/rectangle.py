"""The smallest rectangle about a region at an angle: the picture, and what panels are squared with."""

from __future__ import annotations

import contextlib
import math
from dataclasses import dataclass

import numpy as np

from planner.errors import InputError
from planner.geometry import basis_position_angle_deg, plane_to_vector, steady, vector_to_plane, vector_to_sky

from .orientation import Orientation
from .region import Region

__all__ = ["Rectangle", "refuse_too_wide", "smallest_rectangle"]

ROUNDS = 30
CLOSE_RAD = 1e-14
TRIED_DEG = 15
"""Steps of the angle at which it is tried whether a region has a picture."""
LOWEST_DEPTH = 0.05
"""Corners must lie in front of the picture's plane by this part of the unit sphere."""


@dataclass(frozen=True)
class Rectangle:
    """A tangent plane rectangle on the sky.

    Parameters
    ----------
    center_deg : (float, float)
        ICRS.
    width_deg, height_deg : float
        The half sizes in the tangent plane at the centre are tan(width / 2) and tan(height / 2).
    position_angle_deg : float
        Of its up direction, degrees east of north, [0, 360).
    """

    center_deg: tuple[float, float]
    width_deg: float
    height_deg: float
    position_angle_deg: float

    def with_aspect(self, width: float, height: float) -> Rectangle:
        """Return the smallest rectangle of an aspect, width to height, about this one."""
        half_w, half_h = (steady.tan(math.radians(size) / 2) for size in (self.width_deg, self.height_deg))
        scale = max(half_w / width, half_h / height)
        wide, high = (2 * math.degrees(steady.arctan(scale * side)) for side in (width, height))
        return Rectangle(self.center_deg, wide, high, self.position_angle_deg)

    def as_region(self) -> Region:
        """Return the rectangle as a region."""
        return Region.rectangle(self.center_deg, self.width_deg, self.height_deg, self.position_angle_deg)


def refuse_too_wide(region: Region) -> None:
    """Refuse a region about which no flat picture can be laid, whichever way it is turned.

    Raises
    ------
    InputError
        If it is too wide at every angle that is tried.
    """
    for angle_deg in range(0, 180, TRIED_DEG):
        with contextlib.suppress(InputError):
            smallest_rectangle(region, Orientation.common(float(angle_deg)))
            return
    raise _too_wide(region)


def _too_wide(region: Region) -> InputError:
    if len(region.parts) > 1:
        return InputError("the region's parts are too far apart for one flat picture; plan them one by one")
    return InputError("the picture is too wide for a flat projection; make the region smaller")


def smallest_rectangle(region: Region, orientation: Orientation) -> Rectangle:
    """Smallest tangent plane rectangle about a region that stands as a panel at its own centre would.

    The centre is moved to the middle of the region's extent until it stays there.

    Parameters
    ----------
    region : Region
    orientation : Orientation
        `Orientation.common` for a rectangle with this position angle at its own centre.

    Raises
    ------
    InputError
        If the region is too wide for a flat picture.
    """
    basis = orientation.bases(region.basis[2])
    for _ in range(ROUNDS):
        if steady.dot(region.outline_vectors, basis[2]).min() < LOWEST_DEPTH:
            raise _too_wide(region)
        xy = vector_to_plane(region.outline_vectors, basis)
        middle = (xy.min(axis=0) + xy.max(axis=0)) / 2
        if np.abs(middle).max() < CLOSE_RAD:
            break
        basis = orientation.bases(plane_to_vector(middle, basis))
    width_deg, height_deg = 2 * np.degrees(steady.arctan(np.abs(xy).max(axis=0)))
    moved = not np.allclose(basis[2], region.basis[2], atol=1e-11)
    ra_deg, dec_deg = vector_to_sky(basis[2])
    center = (float(ra_deg), float(dec_deg)) if moved else region.center_deg
    angle = orientation.angle_deg if orientation.is_common else float(basis_position_angle_deg(basis))
    return Rectangle(center, float(width_deg), float(height_deg), angle % 360.0)

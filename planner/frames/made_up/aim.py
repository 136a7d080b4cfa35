"""Where a frame looks and how it is turned, and the same a little off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import basis_position_angle_deg, sky_basis, vector_to_sky
from planner.mosaic.panel import Panel

__all__ = ["Aim"]

Basis = NDArray[np.float64]


@dataclass(frozen=True)
class Aim:
    """Where a frame looks.

    Parameters
    ----------
    ra_deg, dec_deg : float
        Of its centre, ICRS degrees.
    position_angle_deg : float
        Of its up direction at its centre, degrees east of north; at a pole north is along the meridian of
        `ra_deg`.

    >>> Aim(10.0, 89.9, 0.0).moved(12.0, 0.0)       # over the pole: up is south there
    Aim(ra_deg=190.0, dec_deg=89.9, position_angle_deg=180.0)
    """

    ra_deg: float
    dec_deg: float
    position_angle_deg: float

    @classmethod
    def at(cls, panel: Panel) -> Aim:
        """Exactly as a plan has a panel."""
        return cls(panel.ra_deg, panel.dec_deg, panel.position_angle_deg)

    @property
    def basis(self) -> Basis:
        """Tangent plane basis (left, up, out), shape (3, 3)."""
        return sky_basis(self.ra_deg, self.dec_deg, self.position_angle_deg)

    def turned(self, turn_deg: float) -> Aim:
        """Return the same centre, turned about the line of sight; degrees, east of north is positive."""
        return Aim(self.ra_deg, self.dec_deg, (self.position_angle_deg + turn_deg) % 360.0)

    def moved(self, offset_arcmin: float, towards_deg: float) -> Aim:
        """Return the aim carried along a great circle, its up carried along.

        Parameters
        ----------
        offset_arcmin : float
            In [0, 10800].
        towards_deg : float
            Direction of the great circle, degrees from the frame's up to its left.
        """
        if offset_arcmin == 0.0:
            return self
        basis, angle, way = self.basis, np.radians(offset_arcmin / 60.0), np.radians(towards_deg)
        ahead = np.cos(way) * basis[1] + np.sin(way) * basis[0]
        moved = _rotated(basis, np.cross(basis[2], ahead), angle)
        ra_deg, dec_deg = vector_to_sky(moved[2])
        numbers = ra_deg, dec_deg, basis_position_angle_deg(moved)
        return Aim(*(round(float(number), 10) for number in numbers))


def _rotated(vectors: Basis, axis: Basis, angle_rad: float) -> Basis:
    """Rows turned about an axis of unit length; source: Rodrigues' formula."""
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    along = np.outer(vectors @ axis, axis)
    return np.asarray(vectors * cos + np.cross(axis, vectors) * sin + along * (1.0 - cos))

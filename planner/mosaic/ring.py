"""A row of panels along a parallel of a spherical frame: how wide each panel holds the row's band, and the march.

Panels that stand tilted in their row count with the part of them that fills the band.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.geometry import sky_to_vector

from .orientation import Orientation

__all__ = ["Ring", "Row"]


@dataclass(frozen=True)
class Ring:
    """A frame whose parallels the rows follow, and what the panels give there.

    Parameters
    ----------
    frame, orientation : Orientation
        Of the rows and of the panels.
    core, half, box : (float, float)
        Half sizes of the panels' core and shape and of the box in the tangent plane.
    """

    frame: Orientation
    orientation: Orientation
    core: tuple[float, float]
    half: tuple[float, float]
    box: tuple[float, float]

    @cached_property
    def rotation(self) -> NDArray[np.float64]:
        """Matrix that takes ICRS vectors into the rows' frame."""
        return self.frame.rotation

    @cached_property
    def turned(self) -> bool:
        """Whether the panels' height, not their width, runs along the rows at the middle of the frame."""
        return abs(math.sin(math.radians(float(self._tilts(np.zeros(1), 0.0)[0])))) > math.sqrt(0.5)

    @cached_property
    def aligned(self) -> bool:
        """Whether every panel stands parallel to its row."""
        own_axis = abs(float(self.orientation.rotation[2] @ self.rotation[2])) > 1 - 1e-14
        return own_axis and abs(math.sin(math.radians(2 * self.orientation.angle_deg))) < 1e-9

    def centers(self, longitude_deg: NDArray[np.float64], latitude_deg: float) -> NDArray[np.float64]:
        """ICRS unit vectors, shape (N, 3), of positions along a row."""
        return np.asarray(sky_to_vector(longitude_deg, latitude_deg) @ self.rotation)

    def _tilts(self, longitude_deg: NDArray[np.float64], latitude_deg: float) -> NDArray[np.float64]:
        """How far the panels' up is turned from the row's, degrees, at centres along a row."""
        if self.aligned:
            return np.full(len(longitude_deg), self.orientation.angle_deg)
        centers = self.centers(longitude_deg, latitude_deg)
        panels, rows = self.orientation.frames(centers), self.frame.turned_to(0.0).frames(centers)
        x, y = (np.einsum("ij,ij->i", panels[:, 1], rows[:, k]) for k in (0, 1))
        return np.asarray(np.degrees(np.arctan2(x, y)))

    def reaches(
        self, longitude_deg: NDArray[np.float64], latitude_deg: float, band: float
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Half widths, degrees of longitude, of core and shape that fill the band, at centres along a row."""
        tilt = np.radians(self._tilts(longitude_deg, latitude_deg))
        tilt = np.abs((tilt + np.pi / 2) % np.pi - np.pi / 2)
        steep = tilt > np.pi / 4
        tilt = np.where(steep, np.pi / 2 - tilt, tilt)
        core = _filled(self.core, steep, tilt, band)
        side = np.maximum(core, _filled(self.half, steep, tilt, band * max(self.half) / max(self.core)))
        phi = math.radians(abs(latitude_deg))
        narrow = max(1e-6, math.cos(phi) + band * math.sin(phi))
        return np.degrees(np.arctan2(core, narrow)), np.degrees(np.arctan2(side, narrow))

    @property
    def height(self) -> float:
        """Half height of a core across its row."""
        return self.core[0] if self.turned else self.core[1]

    @property
    def side(self) -> float:
        """Half height of a panel across its row."""
        return self.half[0] if self.turned else self.half[1]


def _filled(
    half: tuple[float, float], steep: NDArray[np.bool_], tilt: NDArray[np.float64], band: float
) -> NDArray[np.float64]:
    """Half width along the row over which a rectangle, tilted by up to 45 degrees, fills a band about it."""
    a, b = np.where(steep, half[1], half[0]), np.where(steep, half[0], half[1])
    cos, sin = np.cos(tilt), np.sin(tilt)
    slanted = (b * (1 + 1e-9) - band * cos) / np.maximum(sin, 1e-12)
    return np.asarray(np.minimum((a - band * sin) / cos, slanted))


@dataclass(frozen=True)
class Row:
    """Half widths of core and shape, degrees of longitude, along a row."""

    nodes: NDArray[np.float64]
    core: NDArray[np.float64]
    side: NDArray[np.float64]

    def mirrored(self) -> Row:
        """Return the row with longitudes counted the other way."""
        return Row(-self.nodes[::-1], self.core[::-1], self.side[::-1])

    def march(self, spans: NDArray[np.float64]) -> NDArray[np.float64]:
        """Longitudes of panels over spans of longitude, rising, each as far on as it can be."""
        found: list[float] = []
        for start, end in spans.tolist():
            if found and end <= found[-1] + self._at(self.side, found[-1]):
                continue
            if found and start < found[-1] + self._at(self.core, found[-1]):
                found.append(self._beyond(found[-1] + self._at(self.core, found[-1]), self.core))
            else:
                found.append(self._beyond(start, self.side))
            while found[-1] + self._at(self.side, found[-1]) < end:
                found.append(self._beyond(found[-1] + self._at(self.core, found[-1]), self.core))
        return np.array(found)

    def _at(self, values: NDArray[np.float64], longitude: float) -> float:
        return float(np.interp(longitude, self.nodes, values))

    def _beyond(self, longitude: float, values: NDArray[np.float64]) -> float:
        """Largest centre whose half width reaches back to a longitude."""
        center = longitude + self._at(values, longitude)
        for _ in range(4):
            center = longitude + self._at(values, center)
        return center - 1e-9

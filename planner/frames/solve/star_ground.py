"""Catalogue stars over the ground of a plan, and the triangles among the brightest of them."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import separation_rad
from planner.mosaic.panel import Field

from .star_triangles import Triangles, star_triangles

__all__ = ["StarGround"]

SIDE_SHARES = (0.1, 0.75)
"""Shortest and longest triangle side as shares of the field's short side."""


@dataclass
class StarGround:
    """Stars that a frame of the plan may show; triangles are built once, on first use.

    Parameters
    ----------
    vectors : ndarray, shape (N, 3)
        Unit vectors, ICRS.
    magnitude : ndarray, shape (N,)
    centers : ndarray, shape (P, 3)
        Unit vectors of the panels' centres.
    field : Field
        Of one frame.
    """

    vectors: NDArray[np.float64]
    magnitude: NDArray[np.float64]
    centers: NDArray[np.float64]
    field: Field
    _triangles: dict[int, tuple[NDArray[np.intp], Triangles]] = dataclasses.field(
        default_factory=dict, repr=False
    )

    @classmethod
    def about(cls, centers: NDArray[np.float64], field: Field) -> StarGround:
        """Stars of the packaged catalogue within a field's diagonal of any of these centres, (P, 3)."""
        from scipy.spatial import cKDTree

        from planner.catalogue.stars import stars_within

        reach = np.radians(np.hypot(field.width_deg, field.height_deg))
        middle = centers.mean(axis=0)
        middle = middle / max(float(np.linalg.norm(middle)), 1e-12)
        radius = float(separation_rad(middle, centers).max()) + reach
        stars = stars_within(middle, min(radius, np.pi))
        distance, _ = cKDTree(centers).query(stars.vectors)
        near = distance <= 2 * np.sin(min(reach, np.pi) / 2)
        return cls(stars.vectors[near], stars.magnitude[near], centers, field)

    @property
    def side_limits_rad(self) -> tuple[float, float]:
        """Shortest and longest side of the triangles, radians."""
        short = np.radians(min(self.field.width_deg, self.field.height_deg))
        return SIDE_SHARES[0] * short, SIDE_SHARES[1] * short

    @property
    def stars_per_field(self) -> float:
        """Median number of stars in the area of one field about the panels."""
        width, height = self.field.width_deg, self.field.height_deg
        reach = 0.5 * np.hypot(width, height)
        counts = [np.sum(self.vectors @ center > np.cos(np.radians(reach))) for center in self.centers[:100]]
        return float(np.median(counts) * width * height / (np.pi * reach**2))

    def triangles(self, stars_per_field: int) -> tuple[NDArray[np.intp], Triangles]:
        """Numbers of the brightest stars, about so many a field, and the triangles among them.

        The triangles' corners count in that list of numbers.
        """
        if stars_per_field not in self._triangles:
            chosen = self.brightest(stars_per_field)
            found = star_triangles(self.vectors[chosen], *self.side_limits_rad)
            self._triangles[stars_per_field] = chosen, found
        return self._triangles[stars_per_field]

    def brightest(self, stars_per_field: int) -> NDArray[np.intp]:
        """Numbers of the brightest stars, about so many a field around every panel.

        Around every one, so that a rich corner of the sky does not hide a poor one.
        """
        width, height = self.field.width_deg, self.field.height_deg
        reach = np.cos(np.radians(0.5 * np.hypot(width, height)))
        count = int(np.ceil(stars_per_field * np.pi / 4 * (width**2 + height**2) / (width * height)))
        by_light = np.argsort(self.magnitude, kind="stable")
        sorted_vectors = self.vectors[by_light]
        near = [by_light[np.flatnonzero(sorted_vectors @ center > reach)[:count]] for center in self.centers]
        return np.unique(np.concatenate([np.empty(0, dtype=np.intp), *near]))

"""A flat camera on the sky, fitted to stars: the tangent plane solution of one frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, sky_frame, sky_to_vector, vector_to_plane, vector_to_sky

__all__ = ["TanFit", "fit_tan"]

Vectors = NDArray[np.float64]


@dataclass(frozen=True)
class TanFit:
    """Tangent plane coordinates about the centre of a frame.

    Parameters
    ----------
    ra_deg, dec_deg : float
        ICRS position of `center_px`, the tangent point.
    cd_deg : tuple of four floats
        CD1_1, CD1_2, CD2_1, CD2_2 of the FITS standard: degrees east and north a pixel along x and y.
    center_px : (float, float)
        Pixel position (x, y) of the tangent point, from 0 at the first pixel's centre.

    Notes
    -----
    Source: Calabretta & Greisen 2002, A&A 395, 1077, sections 2 and 5.1.3.
    """

    ra_deg: float
    dec_deg: float
    cd_deg: tuple[float, float, float, float]
    center_px: tuple[float, float]

    @property
    def matrix(self) -> Vectors:
        """CD matrix in radians a pixel, shape (2, 2)."""
        return np.asarray(np.radians(np.array(self.cd_deg).reshape(2, 2)))

    @property
    def position_angle_deg(self) -> float:
        """Of the direction towards larger row numbers, degrees east of north, [0, 360)."""
        return float(np.degrees(np.arctan2(self.cd_deg[1], self.cd_deg[3])) % 360.0)

    @property
    def scales_arcsec_px(self) -> tuple[float, float]:
        """Arc seconds a pixel along x and along y."""
        xx, xy, yx, yy = self.cd_deg
        return float(np.hypot(xx, yx)) * 3600.0, float(np.hypot(xy, yy)) * 3600.0

    @property
    def mirrored(self) -> bool:
        """Whether east lies to the right of north, row 1 at the bottom."""
        return self.cd_deg[0] * self.cd_deg[3] - self.cd_deg[1] * self.cd_deg[2] > 0.0

    @property
    def skew_deg(self) -> float:
        """By how much the angle between the pixel axes differs from 90 degrees."""
        xx, xy, yx, yy = self.cd_deg
        cosine = (xx * xy + yx * yy) / (np.hypot(xx, yx) * np.hypot(xy, yy))
        return float(np.degrees(np.arcsin(np.clip(cosine, -1, 1))))

    def to_pixels(self, vectors: Vectors) -> Vectors:
        """Pixel positions (N, 2) of unit vectors (N, 3); NaN 90 degrees or more away; see `to_vectors`."""
        plane = vector_to_plane(vectors, sky_frame(self.ra_deg, self.dec_deg, 0.0))
        return np.asarray(plane @ np.linalg.inv(self.matrix).T + np.array(self.center_px))

    def to_vectors(self, xy: Vectors) -> Vectors:
        """Return unit vectors (N, 3) of pixel positions (N, 2); inverse of `to_pixels`."""
        plane = (np.asarray(xy) - np.array(self.center_px)) @ self.matrix.T
        return plane_to_vector(plane, sky_frame(self.ra_deg, self.dec_deg, 0.0))


def fit_tan(xy: Vectors, vectors: Vectors, center_px: tuple[float, float]) -> TanFit:
    """Least squares fit of a tangent plane solution to stars.

    Parameters
    ----------
    xy : ndarray, shape (N, 2)
        Pixel positions, N at least 4.
    vectors : ndarray, shape (N, 3)
        The same stars on the sky, ICRS.
    center_px : (float, float)
        Pixel position of the tangent point wanted: the frame's centre. The fit begins at the stars' middle
        and moves the tangent point until it stays.
    """
    columns = np.column_stack([np.asarray(xy) - np.array(center_px), np.ones(len(xy))])
    ra, dec = (float(value) for value in vector_to_sky(vectors.mean(axis=0)))
    for _ in range(6):
        frame = sky_frame(ra, dec, 0.0)
        solution = np.linalg.lstsq(columns, vector_to_plane(vectors, frame), rcond=None)[0]
        moved = plane_to_vector(solution[2], frame)
        still = np.linalg.norm(moved - sky_to_vector(ra, dec)) < 1e-12
        ra, dec = (float(value) for value in vector_to_sky(moved))
        if still:
            break
    cd = np.degrees(solution[:2].T).ravel()
    return TanFit(ra, dec, (float(cd[0]), float(cd[1]), float(cd[2]), float(cd[3])), center_px)

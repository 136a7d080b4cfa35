"""A flat camera on the sky, fitted to stars: the tangent plane solution of one frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, sky_basis, sky_to_vector, vector_to_plane, vector_to_sky

from .radial import Radial, radial_step

__all__ = ["TanFit", "fit_radial_tan", "fit_square_tan", "fit_tan", "fitted_stars"]

OUTLIER = 3.5
"""Times the median distance, beyond which a star is left out."""
CERTAIN = 5.0
"""Times its standard error, from which a radial term is believed."""
LEAST_RADIAL_STARS = 10
LARGEST_STRENGTH = 0.1
"""Largest radial term believed: a tenth of the way to the corner."""

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
    radial : Radial, optional
        Lens distortion about that point; the matrix holds for what an ideal lens would show.

    Notes
    -----
    Source: Calabretta & Greisen 2002, A&A 395, 1077, sections 2 and 5.1.3.
    """

    ra_deg: float
    dec_deg: float
    cd_deg: tuple[float, float, float, float]
    center_px: tuple[float, float]
    radial: Radial | None = None

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
        """Pixel positions (N, 2) of unit vectors (N, 3); NaN 90 degrees or more away."""
        ideal = self.to_ideal(vectors)
        seen = ideal if self.radial is None else self.radial.seen(ideal)
        return np.asarray(seen + np.array(self.center_px))

    def to_ideal(self, vectors: Vectors) -> Vectors:
        """Positions about the centre, pixels, (N, 2), that a lens without distortion would show."""
        plane = vector_to_plane(vectors, sky_basis(self.ra_deg, self.dec_deg, 0.0))
        return np.asarray(plane @ np.linalg.inv(self.matrix).T)


def fit_tan(xy: Vectors, vectors: Vectors, center_px: tuple[float, float]) -> TanFit:
    """Least squares fit of a tangent plane solution to stars, both axes free.

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
    return _fitted(xy, vectors, center_px, _any_plane)


def fit_square_tan(
    xy: Vectors, vectors: Vectors, center_px: tuple[float, float], *, mirrored: bool
) -> TanFit:
    """Fit as `fit_tan` does, but with square pixels on perpendicular axes: four unknowns instead of six.

    Stars further off than `OUTLIER` times the median are left out, twice over.
    """
    solve = _square_plane_mirrored if mirrored else _square_plane
    fit = _fitted(xy, vectors, center_px, solve)
    for _ in range(2):
        kept = fitted_stars(fit, xy, vectors)
        fit = _fitted(xy[kept], vectors[kept], center_px, solve)
    return fit


def fit_radial_tan(xy: Vectors, vectors: Vectors, fit: TanFit, corner_px: float) -> TanFit | None:
    """Fit square pixels behind a lens with a radial term; None where the stars do not tell one.

    Parameters
    ----------
    xy : ndarray, shape (N, 2)
        Pixel positions.
    vectors : ndarray, shape (N, 3)
        The same stars on the sky, ICRS.
    fit : TanFit
        A fit without the term, or with one, to begin with.
    corner_px : float
        Distance of the corners from the centre.
    """
    radial, error = fit.radial or Radial(0.0, corner_px), np.inf
    for _ in range(6):
        kept = fitted_stars(fit, xy, vectors)
        if kept.sum() < LEAST_RADIAL_STARS:
            return None
        from_center = xy[kept] - np.array(fit.center_px)
        step, error = radial_step(from_center, fit.to_ideal(vectors[kept]), radial)
        radial = Radial(radial.strength + step, corner_px)
        if abs(radial.strength) > LARGEST_STRENGTH:
            return None
        fit = _square_behind(radial, from_center, vectors[kept], fit)
    return fit if abs(radial.strength) > CERTAIN * error else None


def _square_behind(radial: Radial, from_center: Vectors, vectors: Vectors, fit: TanFit) -> TanFit:
    """Fit square pixels where a lens with this radial term shows stars."""
    solve = _square_plane_mirrored if fit.mirrored else _square_plane
    ideal = radial.ideal(from_center) + np.array(fit.center_px)
    return replace(_fitted(ideal, vectors, fit.center_px, solve), radial=radial)


def fitted_stars(fit: TanFit, xy: Vectors, vectors: Vectors) -> NDArray[np.bool_]:
    """Which stars are no outliers of a fit."""
    off = np.linalg.norm(fit.to_pixels(vectors) - xy, axis=1)
    return np.asarray(off <= OUTLIER * max(float(np.median(off)), 1e-6))


def _fitted(
    xy: Vectors,
    vectors: Vectors,
    center_px: tuple[float, float],
    solve: Callable[[Vectors, Vectors], Vectors],
) -> TanFit:
    """Solve for plane coordinates again and again until the tangent point lies at the centre."""
    center = float(center_px[0]), float(center_px[1])
    from_center = np.asarray(xy) - np.array(center)
    ra, dec = (float(value) for value in vector_to_sky(vectors.mean(axis=0)))
    for _ in range(6):
        basis = sky_basis(ra, dec, 0.0)
        solution = solve(from_center, vector_to_plane(vectors, basis))
        moved = plane_to_vector(solution[2], basis)
        still = np.linalg.norm(moved - sky_to_vector(ra, dec)) < 1e-12
        ra, dec = (float(value) for value in vector_to_sky(moved))
        if still:
            break
    cd = np.degrees(solution[:2].T).ravel()
    return TanFit(ra, dec, (float(cd[0]), float(cd[1]), float(cd[2]), float(cd[3])), center)


def _any_plane(xy: Vectors, plane: Vectors) -> Vectors:
    """Rows d(xi, eta)/dx, d(xi, eta)/dy and (xi, eta) at the centre, shape (3, 2), by least squares."""
    columns = np.column_stack([xy, np.ones(len(xy))])
    return np.asarray(np.linalg.lstsq(columns, plane, rcond=None)[0])


def _square_plane(xy: Vectors, plane: Vectors) -> Vectors:
    """Solve as `_any_plane` for square pixels of sky parity: east is left of north."""
    left, up = -xy[:, 0], xy[:, 1]
    one, none = np.ones(len(xy)), np.zeros(len(xy))
    east = np.column_stack([left, up, one, none])
    north = np.column_stack([up, -left, none, one])
    values = np.concatenate([plane[:, 0], plane[:, 1]])
    cos, sin, xi, eta = np.linalg.lstsq(np.concatenate([east, north]), values, rcond=None)[0]
    return np.array([[-cos, sin], [sin, cos], [xi, eta]])


def _square_plane_mirrored(xy: Vectors, plane: Vectors) -> Vectors:
    """Solve as `_square_plane` for the other parity."""
    solution = _square_plane(xy * np.array([-1.0, 1.0]), plane)
    return np.asarray(solution * np.array([[-1.0], [1.0], [1.0]]))

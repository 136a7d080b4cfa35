"""Solving a frame: from its detected stars to where it looks, with no more than the plan as a hint.

Triangles of bright stars are looked up among triangles of the catalogue; each equal pair is a guess of
position, angle, parity and scale. A guess counts when far more catalogue stars fall on detected ones than
chance allows, and only then is the tangent plane fitted. A frame that passes no such test is refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .star_detection import DetectedStars
from .star_ground import StarGround
from .star_triangles import as_pairs, equal_triangles, star_triangles
from .tan_fit import TanFit, fit_radial_tan, fit_square_tan, fit_tan, fitted_stars

__all__ = ["Refusal", "RefusalKind", "SolvedStars", "solve_stars"]

RefusalKind = Literal["trailed", "few_stars", "other"]

DEPTHS = (25, 45, 80)
"""Brightest stars of a frame that make triangles, in successive attempts."""
RATIO_TOLERANCE = 0.004
SCALE_TOLERANCE = 0.12
"""How far the true scale may be from the hint, as a fraction."""
GUESSES = 2000
"""Most guesses tried in one attempt, the closest in shape first: true ones are among the first few hundred,
even where half of the stars are lost or false."""
FIRST_REACH = 0.004
"""Reach of a match at first, as a fraction of the frame's diagonal."""
PROMISING_LOG10 = -4.0
ACCEPT_LOG10 = -9.0
"""Largest chance, as a power of ten and over all guesses made, that a solution arose by accident."""
LEAST_MATCHES = 6
POOR_FIELD = 12
TESTED_STARS = 400
"""Most stars, detected and of the catalogue a field, that a guess is tested with."""
LAST_REACH_PX = 2.0
KEPT_SHARE = 0.95
"""Share of the stars that a fit of the lens' distortion must keep: it is there to gain some."""
BATCH = 256
LARGEST_ANGLE_ERROR_DEG = 0.02
LARGEST_SKEW = 0.02
"""Largest difference of the axes' scales, and of their angle from a right one in radians."""

Vectors = NDArray[np.float64]


@dataclass(frozen=True)
class SolvedStars:
    """A solution and what speaks for it.

    Parameters
    ----------
    fit : TanFit
    matches : int
        Catalogue stars found in the frame.
    expected : int
        Catalogue stars that lie in it.
    residual_arcsec : float
        Root mean square distance of the matched stars, outliers left out.
    center_error_arcsec, angle_error_deg : float
        Standard errors of the centre and of the position angle, from the residuals.
    chance_log10 : float
        Power of ten of the chance that so many would match by accident, over all guesses made.
    """

    fit: TanFit
    matches: int
    expected: int
    residual_arcsec: float
    center_error_arcsec: float
    angle_error_deg: float
    chance_log10: float

    @property
    def words(self) -> str:
        """What speaks for it, in words."""
        radial = self.fit.radial
        bent = f", the lens' distortion fitted ({radial.strength:+.2%} at the corners)" if radial else ""
        return f"solved here by {self.matches} stars to {self.residual_arcsec:.1f} arc seconds{bent}"


@dataclass(frozen=True)
class Refusal:
    """No solution, and why.

    Parameters
    ----------
    reason : str
        In words.
    kind : {'trailed', 'few_stars', 'other'}
        What its stars are like.
    """

    reason: str
    kind: RefusalKind = "other"


def solve_stars(
    stars: DetectedStars, size_px: tuple[int, int], scale_arcsec_px: float, ground: StarGround
) -> SolvedStars | Refusal:
    """Solve one frame from its stars.

    Parameters
    ----------
    stars : DetectedStars
    size_px : (int, int)
        Columns and rows of the frame.
    scale_arcsec_px : float
        Expected scale, within 12 per cent.
    ground : StarGround
        Stars over the plan.
    """
    if stars.streak_px is not None:
        return Refusal(
            f"it is trailed: its stars are streaks of about {stars.streak_px:.0f} pixels, all in one direction",
            "trailed",
        )
    if len(stars.flux) < LEAST_MATCHES:
        return Refusal(
            f"{len(stars.flux)} stars found in it, at least {LEAST_MATCHES} are needed", "few_stars"
        )
    search = _Search(stars, size_px, np.radians(scale_arcsec_px / 3600.0), ground)
    for depth in DEPTHS:
        solved = search.attempt(depth)
        if solved is not None:
            return _precise_enough(solved)
        if search.rich:  # fainter stars would only add false guesses
            break
    return Refusal(f"its stars fit no part of the plan's sky beyond chance{_if_poor(ground)}")


def _if_poor(ground: StarGround) -> str:
    """Say so where the catalogue has hardly enough stars for any solution."""
    count = ground.stars_per_field
    return f" (the catalogue has only about {count:.0f} stars in a field there)" if count < POOR_FIELD else ""


def _precise_enough(solved: SolvedStars) -> SolvedStars | Refusal:
    if solved.angle_error_deg <= LARGEST_ANGLE_ERROR_DEG:
        return solved
    return Refusal(f"its {solved.matches} stars fix the angle only to {solved.angle_error_deg:.2g} degrees")


@dataclass(frozen=True)
class _Guesses:
    """Cameras as triangles suggest them: bases (left, up, out), (K, 3, 3), and pixel steps, (K, 2).

    A direction v lies at the pixel `center + (v.left, v.up) / v.out * step`.
    """

    bases: Vectors
    steps: Vectors

    def to_pixels(self, vectors: Vectors, numbers: NDArray[np.intp] | np.intp, center: Vectors) -> Vectors:
        """Pixel positions (N, 2) of directions (N, 3), each by one guess or all by the same; NaN behind."""
        parts = np.einsum("...ij,...j->...i", self.bases[numbers], vectors)
        out = np.where(parts[:, 2:] > 0, parts[:, 2:], np.nan)
        return np.asarray(center + parts[:, :2] / out * self.steps[numbers])


class _Search:
    """One frame against the ground: guesses, their tests, and how many have been made."""

    def __init__(
        self, stars: DetectedStars, size_px: tuple[int, int], pixel_rad: float, ground: StarGround
    ) -> None:
        from scipy.spatial import cKDTree

        self.ground, self.pixel_rad, self.size = ground, pixel_rad, np.array(size_px, dtype=float)
        self.xy = stars.xy[:TESTED_STARS]
        self.center = (self.size - 1) / 2
        self.tree = cKDTree(self.xy)
        self.sky = ground.vectors[ground.brightest(TESTED_STARS)]
        self.sky_tree = cKDTree(self.sky)
        self.reach = FIRST_REACH * float(np.hypot(*size_px))
        self.near = _near_any(self.xy, size_px, self.reach)
        self.near_share = float(self.near.mean())
        self.guesses_made = 0
        self.rich = False

    def attempt(self, depth: int) -> SolvedStars | None:
        """Try the triangles of the brightest stars; None where no guess passes."""
        chosen, catalogue = self.ground.triangles(depth)
        camera = self._camera_vectors(self.xy[:depth])
        seen = star_triangles(camera, *self.ground.side_limits_rad)
        pairs = equal_triangles(
            seen, catalogue, ratio_tolerance=RATIO_TOLERANCE, scale_tolerance=SCALE_TOLERANCE, limit=GUESSES
        )
        self.rich = depth > DEPTHS[0] and len(pairs) == GUESSES
        for start in range(0, len(pairs), BATCH):
            here, there = pairs[start : start + BATCH].T
            scale = catalogue.longest_rad[there] / seen.longest_rad[here]
            on_sky = self.ground.vectors[chosen[catalogue.corners[there]]]
            solved = self._test(self._guesses(camera[seen.corners[here]], on_sky, scale))
            if solved is not None:
                return solved
        return None

    def _camera_vectors(self, xy: Vectors) -> Vectors:
        """Directions in the camera's frame (left, up, out), as if of sky parity and of the hinted scale."""
        plane = (xy - self.center) * self.pixel_rad * np.array([-1.0, 1.0])
        out = np.column_stack([plane, np.ones(len(plane))])
        return np.asarray(out / np.linalg.norm(out, axis=1, keepdims=True))

    def _guesses(self, camera: Vectors, sky: Vectors, scale: Vectors) -> _Guesses:
        """Rotation that lays each camera triangle on its sky triangle, both of shape (K, 3, 3)."""
        mirrored = np.linalg.det(camera) * np.linalg.det(sky) < 0
        camera = camera * np.stack([scale, scale, np.ones(len(scale))], axis=-1)[:, None]
        camera /= np.linalg.norm(camera, axis=2, keepdims=True)
        camera = np.where(mirrored[:, None, None], camera * np.array([-1.0, 1.0, 1.0]), camera)
        bases = _rotations(camera, sky)
        along_x = np.where(mirrored, 1.0, -1.0)
        steps = np.column_stack([along_x, np.ones(len(scale))]) / (self.pixel_rad * scale)[:, None]
        return _Guesses(bases, steps)

    def _test(self, guesses: _Guesses) -> SolvedStars | None:
        """Look at a batch of guesses, the most promising first."""
        self.guesses_made += len(guesses.bases)
        chances = self._quick_chances(guesses)
        for number in np.argsort(chances, kind="stable"):
            if chances[number] > PROMISING_LOG10:
                break
            solved = self._refine(self._match(guesses.to_pixels(self.sky, number, self.center), self.reach))
            if solved is not None:
                return solved
        return None

    def _quick_chances(self, guesses: _Guesses) -> Vectors:
        """Chance, as a power of ten, of each guess's catalogue stars to fall near detected ones."""
        count = len(guesses.bases)
        guess, star = self._stars_in_view(guesses)
        xy = guesses.to_pixels(self.sky[star], guess, self.center)
        x, y = xy.T
        inside = (x > 0) & (x < self.size[0] - 1) & (y > 0) & (y < self.size[1] - 1)
        column, row = xy[inside].astype(np.intp).T
        hits = np.bincount(guess[inside], weights=self.near[row, column], minlength=count)
        return _chance_log10(hits, np.bincount(guess[inside], minlength=count), self.near_share)

    def _stars_in_view(self, guesses: _Guesses) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Numbers of guesses and of catalogue stars that each may show, as pairs."""
        half = (1 + 1.2 * SCALE_TOLERANCE) * self.pixel_rad * float(np.hypot(*self.size)) / 2
        reach = 2 * np.sin(np.arctan(half) / 2)
        found = self.sky_tree.query_ball_point(guesses.bases[:, 2], reach, return_sorted=False)
        return as_pairs(found)

    def _match(self, positions: Vectors, reach: float) -> _Match:
        """Catalogue stars, at these pixel positions, that have a detected star within reach."""
        inside = np.flatnonzero(np.all((positions > 0) & (positions < self.size - 1), axis=1))
        distance, nearest = self.tree.query(positions[inside], distance_upper_bound=reach)
        order = np.argsort(distance, kind="stable")
        order = order[np.isfinite(distance[order])]
        _, first = np.unique(nearest[order], return_index=True)
        hits = order[first]
        share = min(0.5, len(self.xy) * np.pi * reach**2 / float(np.prod(self.size)))
        return _Match(
            inside[hits], nearest[hits], len(inside), float(_chance_log10(len(hits), len(inside), share))
        )

    def _refine(self, match: _Match) -> SolvedStars | None:
        """Fit, match again with ever closer reach, and judge what is left."""
        fit = None
        for reach in (self.reach, self.reach / 2, self.reach / 2, *[LAST_REACH_PX] * 2):
            if len(match.stars) < LEAST_MATCHES:
                return None
            fit = fit_tan(self.xy[match.detected], self.sky[match.stars], (self.center[0], self.center[1]))
            match = self._match(fit.to_pixels(self.sky), reach)
        return self._judge(fit, match) if fit is not None else None

    def _judge(self, fit: TanFit, match: _Match) -> SolvedStars | None:
        """Accept a fit that is a real camera's, of about the scale hinted, and beyond chance."""
        scale_x, scale_y = fit.scales_arcsec_px
        hinted = np.degrees(self.pixel_rad) * 3600.0
        real = abs(scale_x / scale_y - 1) < LARGEST_SKEW and abs(np.radians(fit.skew_deg)) < LARGEST_SKEW
        near = abs(np.sqrt(scale_x * scale_y) / hinted - 1) <= 1.2 * SCALE_TOLERANCE
        chance = match.chance_log10 + float(np.log10(max(self.guesses_made, 1)))
        if not (real and near and len(match.stars) >= LEAST_MATCHES and chance <= ACCEPT_LOG10):
            return None
        xy, sky = self.xy[match.detected], self.sky[match.stars]
        square = fit_square_tan(xy, sky, fit.center_px, mirrored=fit.mirrored)
        bent = self._bent(square)
        if bent is not None and len(bent[1].stars) >= KEPT_SHARE * len(match.stars):
            square, match = bent
            xy, sky = self.xy[match.detected], self.sky[match.stars]
        return _solved(square, match, xy, sky, chance)

    def _bent(self, fit: TanFit) -> tuple[TanFit, _Match] | None:
        """Fit again with a radial term, and match again; None where the stars do not tell one."""
        corner = float(np.hypot(*self.size)) / 2
        bent: TanFit | None = fit
        for reach in (self.reach, self.reach, *[LAST_REACH_PX] * 3):
            match = self._match(fit.to_pixels(self.sky), reach)
            bent = fit_radial_tan(self.xy[match.detected], self.sky[match.stars], fit, corner)
            if bent is None:
                return None
            fit = bent
        return fit, self._match(fit.to_pixels(self.sky), LAST_REACH_PX)


def _solved(fit: TanFit, match: _Match, xy: Vectors, sky: Vectors, chance: float) -> SolvedStars:
    """Solution with its standard errors: of a mean, and of the slope of a straight line, per axis."""
    matches, scale = len(xy), float(np.mean(fit.scales_arcsec_px))
    kept = fitted_stars(fit, xy, sky)
    xy, count = xy[kept], int(kept.sum())
    squares = float(np.sum((fit.to_pixels(sky[kept]) - xy) ** 2))
    axis_error = np.sqrt(squares / (2 * count - (4 if fit.radial is None else 5)))
    arm = np.sqrt(np.sum((xy - xy.mean(axis=0)) ** 2))
    return SolvedStars(
        fit=fit,
        matches=matches,
        expected=match.inside,
        residual_arcsec=float(np.sqrt(squares / count)) * scale,
        center_error_arcsec=float(axis_error * np.sqrt(2 / count)) * scale,
        angle_error_deg=float(np.degrees(axis_error / arm)),
        chance_log10=chance,
    )


@dataclass(frozen=True)
class _Match:
    """Numbers of catalogue stars and of the detected stars they fell on, and the chance of so many."""

    stars: NDArray[np.intp]
    detected: NDArray[np.intp]
    inside: int
    chance_log10: float


def _rotations(camera: Vectors, sky: Vectors) -> Vectors:
    """Frames F, shape (K, 3, 3), for which F sky is nearest to camera; both of shape (K, stars, 3).

    Source: Kabsch 1976, Acta Cryst. A32, 922 (the best rotation between two sets of vectors).
    """
    left, _, right = np.linalg.svd(np.einsum("ksi,ksj->kij", camera, sky))
    left[:, :, 2] *= np.sign(np.linalg.det(left) * np.linalg.det(right))[:, None]
    return np.asarray(left @ right)


def _near_any(xy: Vectors, size_px: tuple[int, int], reach: float) -> NDArray[np.bool_]:
    """Map, shape (rows, columns), of the pixels within reach of any position."""
    steps = np.arange(-int(reach) - 1, int(reach) + 2)
    disc = np.array([(x, y) for x in steps for y in steps if x * x + y * y <= reach * reach])
    pixels = (np.round(xy).astype(np.intp)[:, None] + disc).reshape(-1, 2)
    pixels = pixels[np.all((pixels >= 0) & (pixels < np.array(size_px)), axis=1)]
    near = np.zeros((size_px[1], size_px[0]), dtype=bool)
    near[pixels[:, 1], pixels[:, 0]] = True
    return near


def _chance_log10(hits: ArrayLike, stars: ArrayLike, share: float) -> Vectors:
    """Power of ten of the chance that so many of the stars fall on detected ones by accident.

    Binomial tail; three stars are left out of both counts, because the guess was laid through three.
    """
    from scipy.special import bdtrc

    hits, stars = np.asarray(hits), np.maximum(np.asarray(stars) - 3, 0)
    with np.errstate(divide="ignore"):
        chance = np.log10(bdtrc(np.maximum(hits - 4, 0), stars, share))
    return np.asarray(np.where(hits > 3, chance, 0.0))

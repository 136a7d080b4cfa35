"""Stars in the pixels of one frame: where they are and how bright, brightest first.

Pixel positions are (x, y), x along a row and y along a column, counted from 0 at the centre of the first
pixel of the file (FITS counts from 1 there).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["DetectedStars", "detect_stars"]

BACKGROUND_BOX_PX = 48
"""Side of the boxes in which the sky level is measured: wider than a star, narrower than a nebula."""
THRESHOLD_SIGMA = 5.0
LEAST_AREA_PX = 4
"""A hot pixel has fewer."""
LARGEST_ELONGATION = 2.5
"""A trail has more."""
LEAST_STREAKS = 8
ALIGNED = 0.8
"""Least length of the streaks' mean direction (of doubled angles, 1 if all point one way) in a trailed frame."""
LARGEST_SHARE = 0.6
"""Largest share of a source's light in its brightest pixel: more of it is a hot pixel beside noise."""
BUFFER_PX = 4_000_000


@dataclass(frozen=True)
class DetectedStars:
    """Stars of one frame, brightest first.

    Parameters
    ----------
    xy : ndarray, shape (N, 2)
        Pixel positions, from 0 at the first pixel's centre.
    flux : ndarray, shape (N,)
        Light above the sky, in the file's units.
    width_px : ndarray, shape (N,)
        Full width at half maximum of a Gaussian of the same second moments.
    streak_px : float, optional
        Length of the streaks that most stars of a trailed frame are, all in one direction; None for others.
    """

    xy: NDArray[np.float64]
    flux: NDArray[np.float64]
    width_px: NDArray[np.float64]
    streak_px: float | None = None


def detect_stars(pixels: NDArray[np.generic]) -> DetectedStars:
    """Find stars above the sky, its gradients and nebulae subtracted; hot pixels and trails left out.

    Parameters
    ----------
    pixels : ndarray, shape (rows, columns)
        Any number type and byte order; NaN and infinite pixels are ignored.
    """
    import sep

    data = np.ascontiguousarray(pixels, dtype=np.float32)
    bad = ~np.isfinite(data)
    if bad.all() or min(data.shape) < 16:
        return _no_stars()
    data = np.where(bad, np.float32(np.median(data[~bad])), data)
    sky = sep.Background(data, mask=bad, bw=BACKGROUND_BOX_PX, bh=BACKGROUND_BOX_PX)
    noise = float(sky.globalrms)
    if not noise > 0.0:
        return _no_stars()
    return _stars_of(_sources(data - sky.back(dtype=np.float32), noise, bad), data.shape)


def _no_stars() -> DetectedStars:
    return DetectedStars(np.empty((0, 2)), np.empty(0), np.empty(0))


def _sources(above: NDArray[np.float32], noise: float, bad: NDArray[np.bool_]) -> NDArray[np.void]:
    """Find connected pixels above the threshold; unfiltered, so that a hot pixel stays a single pixel."""
    import sep

    sep.set_extract_pixstack(BUFFER_PX)
    how = {"err": noise, "mask": bad, "minarea": LEAST_AREA_PX, "filter_kernel": None}
    try:
        found = sep.extract(above, THRESHOLD_SIGMA, deblend_cont=0.05, **how)
    except Exception:  # sep raises a bare Exception when its buffers overflow: take the bright part only
        found = sep.extract(above, 20 * THRESHOLD_SIGMA, deblend_cont=1.0, **how)
    return np.asarray(found)


def _stars_of(found: NDArray[np.void], shape: tuple[int, ...]) -> DetectedStars:
    inside = (
        (found["xmin"] > 0)
        & (found["ymin"] > 0)
        & (found["xmax"] < shape[1] - 1)
        & (found["ymax"] < shape[0] - 1)
    )
    round_enough = found["a"] <= LARGEST_ELONGATION * np.maximum(found["b"], 0.3)
    small = found["npix"] <= max(400, shape[0] * shape[1] // 2000)
    spread = found["peak"] <= LARGEST_SHARE * found["flux"]
    stars = found[inside & round_enough & small & spread & (found["flux"] > 0)]
    stars = stars[np.argsort(-stars["flux"], kind="stable")]
    width = 2.3548 * np.sqrt(stars["a"] * stars["b"])
    xy = np.column_stack([stars["x"], stars["y"]])
    return DetectedStars(
        xy, stars["flux"].astype(float), width, _streak_px(found[inside & spread], len(stars))
    )


def _streak_px(found: NDArray[np.void], stars: int) -> float | None:
    """Length of the streaks among sources, if they are more than the stars and all point one way.

    An even streak of length L has the second moment L^2 / 12 along itself.
    """
    streaks = found[found["a"] > LARGEST_ELONGATION * np.maximum(found["b"], 0.3)]
    if len(streaks) < max(LEAST_STREAKS, stars):
        return None
    aligned = abs(np.exp(2j * streaks["theta"]).mean())
    return float(np.median(streaks["a"]) * np.sqrt(12.0)) if aligned >= ALIGNED else None

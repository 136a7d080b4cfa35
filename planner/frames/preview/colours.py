"""Planes of a preview in colours for the eye: stretched, and coloured by filter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError, nearest_names
from planner.frames.review.filter_names import wavelength_nm

if TYPE_CHECKING:
    from .preview import Preview

__all__ = ["colour_filters", "preview_rgb", "stretched"]

SAMPLE = 400_000
"""Pixels that levels are measured from."""
WHITE_PERCENTILE = 99.7
SOFTENING_SIGMA = 4.0
BLACK_SIGMA = 2.0
BROAD = ("r", "g", "b")


def preview_rgb(preview: Preview, colours: Sequence[str] | None = None) -> NDArray[np.uint8]:
    """Colours of shape (rows, columns, 3), row 1 first; black where there is no frame.

    One filter is grey; of two the longer wavelength is red, the other green and blue; see `colour_filters`.
    """
    chosen = colour_filters(preview.filters, colours)
    planes = {name: stretched(preview.planes[preview.filters.index(name)]) for name in dict.fromkeys(chosen)}
    return np.stack([planes[name] for name in chosen], axis=-1)


def colour_filters(filters: Sequence[str], asked: Sequence[str] | None = None) -> tuple[str, str, str]:
    """Choose filters for red, green and blue: as asked, else by falling wavelength, else in the order given.

    Raises
    ------
    InputError
        If three are not asked for, or one of them is not there.

    >>> colour_filters(["Ha", "OIII", "SII"])
    ('SII', 'Ha', 'OIII')
    >>> colour_filters(["L", "B", "R", "G"]), colour_filters(["OIII", "Ha"])
    (('R', 'G', 'B'), ('Ha', 'OIII', 'OIII'))
    """
    if asked is not None:
        return _asked(filters, asked)
    broad = {wavelength_nm(name): name for name in filters}
    if all(wavelength_nm(name) in broad for name in BROAD):
        red, green, blue = (broad[wavelength_nm(name)] for name in BROAD)
        return red, green, blue
    first = list(filters[:3])
    if all(wavelength_nm(name) for name in first):
        first.sort(key=lambda name: -(wavelength_nm(name) or 0.0))
    return first[0], first[min(1, len(first) - 1)], first[-1]


def _asked(filters: Sequence[str], asked: Sequence[str]) -> tuple[str, str, str]:
    if len(asked) != 3:
        raise InputError(
            f"the preview's colours are three filters for red, green and blue, got {len(asked)}; name three"
        )
    known = {name.casefold(): name for name in filters}
    for name in asked:
        if name.casefold() not in known:
            hint = nearest_names(name, filters) or f"; there are {', '.join(filters)}"
            raise InputError(
                f"the preview's colours name the filter {name!r}, but no good frame has it{hint}"
            )
    red, green, blue = (known[name.casefold()] for name in asked)
    return red, green, blue


def stretched(plane: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Grey values: the sky dark, faint light lifted, bright light held by an inverse hyperbolic sine.

    Source: Lupton et al. 2004, PASP 116, 133 (the asinh stretch).
    """
    sample = np.ravel(plane)[:: max(1, plane.size // SAMPLE)]
    sample = np.asarray(sample[np.isfinite(sample)], dtype=float)
    if not len(sample):
        return np.zeros(plane.shape, dtype=np.uint8)
    sky = float(np.median(sample))
    noise = max(1.4826 * float(np.median(np.abs(sample - sky))), 1e-6 * abs(sky), 1e-12)
    white = max(float(np.percentile(sample, WHITE_PERCENTILE)) - sky, 10 * noise)
    soft = SOFTENING_SIGMA * noise
    lifted = np.arcsinh((np.nan_to_num(plane, nan=-np.inf) - (sky - BLACK_SIGMA * noise)) / soft)
    top = np.arcsinh((white + BLACK_SIGMA * noise) / soft)
    return np.asarray(np.clip(lifted / top, 0.0, 1.0) * 255.0 + 0.5).astype(np.uint8)

"""The nebulae about a place as the canvas shows them: outlines at three depths, entries as ellipses."""

from __future__ import annotations

import base64
import math
from collections.abc import Iterable
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.catalogue.nebulae import LEVELS, NEBULAE_LICENCE, Nebula, Nebulae, Outline, all_nebulae
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane, vector_to_sky

__all__ = ["nebulae_data"]

MOST_NEBULAE = 160
SMALLEST_SHARE = 1 / 90
"""Entries smaller than this share of the circle's radius are left out."""
FINEST_SHARE = 1 / 1500
"""Outlines are simplified by this share of the circle's radius: about half a pixel of the first view."""
LARGEST_DEG = 40.0
"""Wider entries would tint the whole sky."""


def nebulae_data(center: ArrayLike, radius_deg: float) -> dict[str, Any]:
    """Return nebulae and outlines within a circle, for the browser.

    Parameters
    ----------
    center : array_like, shape (3,)
        Unit vector.
    radius_deg : float

    Returns
    -------
    dict
        ``entries``: name, title, kind, centre, axes in degrees, largest first. ``rings``: base64 of float32
        pairs (ra, dec) with the ``start`` of each ring, its ``entry`` (-1: not among them), ``level`` (0 is the
        faintest) and ``kind``.
    """
    nebulae, radius_rad = all_nebulae(), math.radians(radius_deg)
    outlines = [one for one in nebulae.outlines_within(center, radius_rad) if one.ring_deg.shape[0] > 2]
    within = nebulae.within(center, radius_rad, smallest_arcmin=60 * radius_deg * SMALLEST_SHARE)
    drawn = dict.fromkeys(one.nebula for one in outlines)
    chosen = [index for index in within if nebulae.major_arcmin[index] < 60 * LARGEST_DEG][:MOST_NEBULAE]
    chosen += [index for index in drawn if index not in chosen]
    places = {index: number for number, index in enumerate(chosen)}
    return {
        "licence": NEBULAE_LICENCE if outlines else "",
        "entries": [_entry(nebulae[index]) for index in chosen],
        "rings": _rings(nebulae, outlines, places, math.radians(radius_deg * FINEST_SHARE)),
    }


def _entry(one: Nebula) -> dict[str, Any]:
    size = one.size
    major = (size.major_arcmin or 0.0) if size else 0.0
    minor = (size.minor_arcmin or major) if size else 0.0
    angle = size.position_angle_deg if size else None
    return {
        "name": one.name,
        "words": one.common_name,
        "title": f"{one.label}: {one.kind}{_size_words(one, major, minor)}",
        "kind": one.kind,
        "ra": round(one.ra_deg, 5),
        "dec": round(one.dec_deg, 5),
        "major": major / 60,
        "minor": (minor if angle is not None else major) / 60,
        "pa": angle or 0.0,
        "outlined": bool(one.levels),
        "across": one.across_deg,
    }


def _size_words(one: Nebula, major: float, minor: float) -> str:
    levels = [f"{level} level {area:.2g}" for level, area in zip(one.levels, one.areas_deg2, strict=True)]
    outline = f"; outline: {', '.join(levels)} square degrees" if levels else ""
    axes = f"{major:g} × {minor:g}′" if minor != major else f"{major:g}′"
    return (f", {axes}" if major else "") + outline


def _rings(
    nebulae: Nebulae, outlines: Iterable[Outline], places: dict[int, int], finest_rad: float
) -> dict[str, Any]:
    rings = [(one, _simplified(one, finest_rad)) for one in outlines]
    points = [ring for _, ring in rings]
    start = np.cumsum([0, *map(len, points)]).tolist()
    table = np.concatenate(points) if points else np.zeros((0, 2))
    return {
        "points": base64.b64encode(table.astype("<f4").tobytes()).decode(),
        "start": start,
        "entry": [places.get(one.nebula, -1) for one, _ in rings],
        "level": [LEVELS.index(one.level) for one, _ in rings],
        "kind": [nebulae.kind(one.nebula) for one, _ in rings],
    }


def _simplified(outline: Outline, finest_rad: float) -> NDArray[np.float64]:
    """Return a ring with the corners that matter at this scale, (ra, dec) degrees."""
    middle = outline.vectors.mean(axis=0)
    ra_deg, dec_deg = (float(value) for value in vector_to_sky(middle / np.linalg.norm(middle)))
    basis = sky_basis(ra_deg, dec_deg, 0.0)
    plane = vector_to_plane(outline.vectors, basis)
    if not np.isfinite(plane).all():
        return outline.ring_deg
    ring = shapely.get_coordinates(shapely.simplify(shapely.linearrings(plane), finest_rad))[:-1]
    return np.stack(vector_to_sky(plane_to_vector(ring, basis)), axis=-1)

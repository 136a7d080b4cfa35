"""Outlines of nebulae on a map: three depths of one tint for each kind, under stars and panels."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import PolyCollection
from numpy.typing import NDArray

from planner.catalogue.nebulae import LEVELS, all_nebulae
from planner.draw.palette import Palette

from .map_view import MapView

__all__ = ["HATCHES", "LEVEL_ALPHA", "SHOWN_KINDS", "draw_nebulae", "shown_kind", "tint"]

SHOWN_KINDS = ("emission", "reflection", "dark", "supernova remnant")
"""Kinds told apart on paper."""
HATCHES = {"emission": "", "reflection": "....", "dark": "////", "supernova remnant": "xxxx"}
"""Textures, so that kinds stay apart without colour."""
LEVEL_ALPHA = {"faint": 0.13, "middle": 0.17, "bright": 0.24}
"""Opacity of each level's fill; the fills lie upon each other and add up."""
TEXTURED = "faint"
SMALLEST = 0.004
"""Rings smaller than this fraction of the window's width are left out."""


def shown_kind(kind: str) -> str:
    """Return the kind under which a nebula is shown: emission for what no catalogue tells more exactly."""
    return kind if kind in SHOWN_KINDS else "emission"


def tint(palette: Palette, kind: str) -> str:
    """Colour of a kind of nebula."""
    return {
        "emission": palette.emission,
        "reflection": palette.reflection,
        "dark": palette.dark_nebula,
        "supernova remnant": palette.remnant,
    }[shown_kind(kind)]


def draw_nebulae(view: MapView) -> dict[int, NDArray[np.float64]]:
    """Fill the outlines that reach into the window, faint levels first.

    Returns
    -------
    dict
        Indices of the nebulae drawn, each with the points of its largest ring in the plane, shape (K, 2).
    """
    nebulae, window = all_nebulae(), view.window
    drawn: dict[int, NDArray[np.float64]] = {}
    parts: dict[tuple[str, str], list[NDArray[np.float64]]] = {}
    for ring in nebulae.outlines_within(window.middle, window.radius_rad):
        for xy in view.polygons([ring.vectors]):
            if not _counts(view, xy):
                continue
            parts.setdefault((ring.level, shown_kind(nebulae.kind(ring.nebula))), []).append(xy)
            largest = drawn.get(ring.nebula)
            if largest is None or np.ptp(xy[:, 0]) > np.ptp(largest[:, 0]):
                drawn[ring.nebula] = xy
    for depth, level in enumerate(LEVELS):
        for kind in SHOWN_KINDS:
            _fill(view, parts.get((level, kind), []), kind, level, zorder=1.5 + 0.1 * depth)
    return drawn


def _counts(view: MapView, xy: NDArray[np.float64]) -> bool:
    """Whether a ring is large enough and its box meets the window."""
    window, low, high = view.window, xy.min(axis=0), xy.max(axis=0)
    if (high - low).max() < SMALLEST * window.width:
        return False
    return bool(
        low[0] <= window.left
        and high[0] >= window.right
        and low[1] <= window.top
        and high[1] >= window.bottom
    )


def _fill(view: MapView, parts: list[NDArray[np.float64]], kind: str, level: str, *, zorder: float) -> None:
    if not parts:
        return
    color = tint(view.palette, kind)
    fills = PolyCollection(
        parts, facecolors=color, alpha=LEVEL_ALPHA[level], linewidths=0, zorder=zorder, gid=f"nebula {level}"
    )
    view.axes.add_collection(fills, autolim=False)
    if HATCHES[kind] and level == TEXTURED:
        texture = PolyCollection(
            parts,
            facecolors="none",
            edgecolors=color,
            alpha=0.35,
            hatch=HATCHES[kind],
            linewidths=0,
            zorder=zorder,
            gid="nebula texture",
        )
        view.axes.add_collection(texture, autolim=False)

"""Layouts of further instruments on a map: told apart by dashes and framed names, not by colour alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.artist import Artist
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from planner.draw.palette import Palette
from planner.mosaic.panel import panel_corners

from .map_view import MapView, text_width_pt

if TYPE_CHECKING:
    from planner.mosaic.mosaic import Mosaic

__all__ = ["BESIDE_DASHES", "Beside", "beside_handles", "draw_beside", "draw_beside_names"]

BESIDE_DASHES = ((0, (1, 1.4)), (0, (3, 1.2, 1, 1.2, 1, 1.2)), (0, (8, 1.5)))
"""Dotted, one dash and two dots, long dashes; then from the first again."""
NAME_PT = 8.0
PLACES = ((0.0, 0.0), (0.0, 0.35), (0.0, -0.35), (0.35, 0.0), (-0.35, 0.0), (0.5, 0.5), (-0.5, -0.5))
"""Where a framed name may stand, in half sizes of its panel: the first place that is free."""


@dataclass(frozen=True)
class Beside:
    """Several layouts on one map.

    Parameters
    ----------
    name : str
        Instrument of the plan that is drawn.
    others : tuple of (str, Mosaic)
        Further instruments and their layouts.
    """

    name: str
    others: tuple[tuple[str, Mosaic], ...]

    @property
    def corners(self) -> Iterator[NDArray[np.float64]]:
        """Corner vectors of every panel of the others, shape (4, 3) each."""
        for _, mosaic in self.others:
            yield from panel_corners(mosaic.panels, mosaic.field)


def draw_beside(view: MapView, beside: Beside) -> None:
    """Draw the outlines of further layouts, and framed names."""
    for number, (_, mosaic) in enumerate(beside.others):
        parts = view.polygons(list(panel_corners(mosaic.panels, mosaic.field)))
        view.outline(
            parts,
            "panel beside",
            color=view.palette.ink,
            width=1.6,
            style=BESIDE_DASHES[number % len(BESIDE_DASHES)],
            zorder=5.5,
        )


def draw_beside_names(view: MapView, beside: Beside) -> None:
    """Write the names of further layouts in frames, where there is room."""
    for _, mosaic in beside.others:
        corners = view.window.project(panel_corners(mosaic.panels, mosaic.field))
        for panel, four in zip(mosaic.panels, corners, strict=True):
            if np.isfinite(four).all():
                _framed(view, panel.name, four)


def _framed(view: MapView, name: str, corners: NDArray[np.float64]) -> None:
    """Write a name inside a panel, of which the corners SE, SW, NW, NE are given in the plane."""
    middle, across, up = corners.mean(axis=0), (corners[0] - corners[1]) / 2, (corners[3] - corners[0]) / 2
    size = text_width_pt(name, NAME_PT) + 6.0, NAME_PT + 5.0
    for x, y in PLACES:
        place = middle + x * across + y * up
        box = view.box(float(place[0]), float(place[1]), *size)
        if view.is_free(box):
            ink = view.palette.ink
            text = view.write(
                name, float(place[0]), float(place[1]), size=NAME_PT, color=ink, kind="panel name beside"
            )
            frame = {"boxstyle": "square,pad=0.22", "fc": view.palette.paper, "ec": ink, "lw": 0.7}
            text.set_bbox(frame)
            view.taken.append(box)
            return


def beside_handles(beside: Beside, palette: Palette) -> list[Artist]:
    """Return the legend's lines for further layouts."""
    return [
        Line2D(
            [],
            [],
            color=palette.ink,
            linewidth=1.6,
            linestyle=BESIDE_DASHES[number % len(BESIDE_DASHES)],
            label=f"panel of {name} (framed name)",
        )
        for number, (name, _) in enumerate(beside.others)
    ]

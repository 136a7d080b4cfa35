"""The legend below a chart: what the lines mean, and stars by magnitude."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from planner.draw.palette import Palette

from .map_beside import Beside, beside_handles
from .map_nebulae import HATCHES, LEVEL_ALPHA, tint
from .map_objects import UNKNOWN_TURN_DASHES
from .map_panels import PICTURE_DASHES, REGION_DASHES
from .map_stars import StarScale
from .map_view import FONT
from .sky_map import MapFacts

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.mosaic.mosaic import Mosaic

__all__ = ["draw_legends"]


def draw_legends(
    figure: Figure,
    plan: Plan,
    facts: MapFacts,
    palette: Palette,
    *,
    side_in: float,
    beside: Beside | None = None,
) -> None:
    """Lines at the left, magnitudes at the right: beside them on a wide page, below them on a tall one.

    Parameters
    ----------
    side_in : float
        Free margin at left and right, inches.
    beside : Beside, optional
        Layouts of further instruments.
    """
    width, height = figure.get_size_inches()
    lines_in, stars_in = (0.94, 0.94) if width > height else (1.24, 0.62)
    lines = _line_handles(plan.mosaic, facts, palette, beside)
    _legend(figure, lines, (side_in / width, lines_in / height), palette, columns=3)
    if facts.stars is not None:
        stars = _star_handles(facts.stars, palette)
        corner = (1 - side_in / width, stars_in / height)
        _legend(figure, stars, corner, palette, columns=len(stars), title="magnitude")


def _legend(
    figure: Figure,
    handles: Sequence[Artist],
    corner: tuple[float, float],
    palette: Palette,
    *,
    columns: int,
    title: str = "",
) -> None:
    """Place a legend by its upper left corner, or by its upper right one if it has a title."""
    legend = figure.legend(
        handles=list(handles),
        loc="upper right" if title else "upper left",
        bbox_to_anchor=corner,
        ncols=columns,
        frameon=False,
        borderpad=0,
        borderaxespad=0,
        handlelength=0.9 if title else 3.4,
        handletextpad=0.4 if title else 0.8,
        columnspacing=1.2 if title else 2.0,
        labelcolor=palette.ink,
        prop={"family": FONT, "size": 8},
        title=title or None,
        title_fontproperties={"family": FONT, "size": 7},
        alignment="right" if title else "left",
    )
    legend.get_title().set_color(palette.muted)


def _line_handles(mosaic: Mosaic, facts: MapFacts, palette: Palette, beside: Beside | None) -> list[Artist]:
    alpha, twice = palette.panel_alpha, 1 - (1 - palette.panel_alpha) ** 2
    of = f" of {beside.name}" if beside else ""
    panel = f"panel{of}" if facts.panel_name_pt else f"panel{of} (names too small to print)"
    handles: list[Artist] = [
        _line("region to cover", palette.region, linewidth=1.7, linestyle=REGION_DASHES),
        _line("picture (the print)", palette.picture, linewidth=1.5, linestyle=PICTURE_DASHES),
        _line("largest full picture", palette.picture, linewidth=0.6),
        Patch(facecolor=(palette.panel, alpha), edgecolor=palette.panel, label=panel),
    ]
    if any(one.kept for one in mosaic.panels):
        handles.append(_line("kept panel: double outline", palette.panel, linewidth=1.0))
    if len(mosaic.panels) > 1:
        handles.append(Patch(facecolor=(palette.panel, twice), edgecolor="none", label="overlap of panels"))
    handles += beside_handles(beside, palette) if beside else []
    handles += [_nebula_patch(kind, palette) for kind in facts.nebulae]
    if facts.objects:
        handles.append(_line("other object", palette.sky_object, linewidth=0.9))
    if facts.unknown_turns:
        style = {"linewidth": 0.9, "linestyle": UNKNOWN_TURN_DASHES}
        handles.append(_line("entry, orientation unknown", palette.muted, **style))
    if mosaic.gap_center_deg is not None:
        style = {"marker": "x", "markersize": 8, "markeredgewidth": 2.0, "linestyle": "none"}
        handles.append(_line("largest gap", palette.warning, **style))
    return handles


def _nebula_patch(kind: str, palette: Palette) -> Patch:
    color = tint(palette, kind)
    label = kind if kind == "supernova remnant" else f"{kind} nebula"
    return Patch(
        facecolor=(color, sum(LEVEL_ALPHA.values()) / 1.5), edgecolor=color, hatch=HATCHES[kind], label=label
    )


def _line(label: str, color: str, **style: Any) -> Line2D:
    return Line2D([], [], color=color, label=label, **style)


def _star_handles(scale: StarScale, palette: Palette) -> list[Artist]:
    """Dots of whole magnitudes, from the brightest star drawn to the limit."""
    first, last = int(np.ceil(scale.brightest - 0.5)), int(np.floor(scale.limit))
    style: dict[str, Any] = {"marker": "o", "linestyle": "none", "markeredgewidth": 0}
    return [
        _line(f"{step}".replace("-", "−"), palette.ink, markersize=float(scale.diameter_pt(step)), **style)
        for step in range(first, last + 1, max(1, round((last - first) / 5)))
    ]

"""The map itself: a plan drawn on axes of any size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from matplotlib.axes import Axes
from numpy.typing import NDArray

from planner.catalogue.nebulae import all_nebulae
from planner.draw.palette import DARK, LIGHT
from planner.geometry import footprint_vectors, sky_basis
from planner.mosaic.panel import panel_corners

from .map_beside import Beside, draw_beside, draw_beside_names
from .map_graticule import draw_graticule
from .map_nebulae import SHOWN_KINDS, draw_nebulae, shown_kind
from .map_objects import draw_object_names, draw_objects
from .map_panels import draw_full_picture, draw_gap, draw_panel_names, draw_panels, draw_picture, draw_region
from .map_stars import StarScale, draw_stars
from .map_view import MapView
from .ornaments import Plate, best_plate, draw_ornaments
from .window import Window

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.picture import Picture

__all__ = ["MapFacts", "content_parts", "draw_map", "picture_corners"]

MARGINS = (0.05, 0.08, 0.11, 0.14, 0.17)
"""Free rim about the content: the first that leaves a corner free for arrows and scale bar."""


@dataclass(frozen=True)
class MapFacts:
    """What a legend has to say about a map.

    Parameters
    ----------
    stars : StarScale or None
        None where there is no star.
    objects : int
        How many are drawn.
    unknown_turns : bool
        Whether an ellipse stands in as a dotted circle.
    nebulae : tuple of str
        Kinds of nebulae that are drawn, by outline or ellipse.
    outlines : int
        How many nebulae are drawn by their outlines.
    panel_name_pt : float
        Size of the panels' names, 0 where they are left out.
    """

    stars: StarScale | None
    objects: int
    unknown_turns: bool
    nebulae: tuple[str, ...]
    outlines: int
    panel_name_pt: float


def content_parts(plan: Plan, beside: Beside | None = None) -> list[NDArray[np.float64]]:
    """Polygons of all that a chart must show: panels, region and picture, each of shape (K, 3)."""
    mosaic = plan.mosaic
    return [
        *panel_corners(mosaic.panels, mosaic.field),
        plan.region.outline_vectors,
        picture_corners(plan.picture),
        *(beside.corners if beside else ()),
    ]


def picture_corners(picture: Picture) -> NDArray[np.float64]:
    """Corner vectors of the picture, shape (4, 3)."""
    half = np.tan(np.radians([picture.width_deg, picture.height_deg]) / 2)
    return footprint_vectors(sky_basis(*picture.center_deg, picture.position_angle_deg), *half)


def draw_map(
    axes: Axes, plan: Plan, *, dark: bool = False, up_deg: float = 0.0, beside: Beside | None = None
) -> MapFacts:
    """Draw a plan on axes, which keep their place and size on the figure.

    Parameters
    ----------
    axes : Axes
    plan : Plan
    dark : bool
    up_deg : float
        Position angle of the chart's up direction at the picture's centre, degrees east of north.
    beside : Beside, optional
        Layouts of further instruments.
    """
    view, plate = _view(axes, plan, dark, up_deg, beside)
    _dress(view)
    draw_ornaments(view, plate)
    draw_graticule(view)
    draw_panels(view, plan.mosaic)
    if beside is not None:
        draw_beside(view, beside)
    outlined = draw_nebulae(view)
    objects = draw_objects(view, outlined)
    stars = draw_stars(view)
    draw_region(view, plan.region.ring_vectors)
    full = plan.full_picture
    if full is not None:
        draw_full_picture(view, picture_corners(full.picture))
    draw_picture(view, picture_corners(plan.picture))
    draw_gap(view, plan.mosaic)
    size = draw_panel_names(view, plan.mosaic)
    if beside is not None:
        draw_beside_names(view, beside)
    draw_object_names(view, objects, outlined)
    kinds = {shown_kind(all_nebulae().kind(index)) for index in outlined}
    kinds |= {item.kind for item in objects}
    return MapFacts(
        stars,
        objects=sum(item.kind == "other" for item in objects),
        unknown_turns=not all(item.turn_is_known for item in objects),
        nebulae=tuple(kind for kind in SHOWN_KINDS if kind in kinds),
        outlines=len(outlined),
        panel_name_pt=size,
    )


def _view(axes: Axes, plan: Plan, dark: bool, up_deg: float, beside: Beside | None) -> tuple[MapView, Plate]:
    """Window with the smallest rim that leaves a corner free, and that corner."""
    box, dpi = axes.get_window_extent(), axes.figure.dpi
    parts = content_parts(plan, beside)
    for margin in MARGINS:
        window = Window.around(
            np.concatenate(parts),
            center_deg=plan.picture.center_deg,
            aspect=box.width / box.height,
            position_angle_deg=up_deg,
            margin=margin,
        )
        view = MapView(axes, window, DARK if dark else LIGHT, window.width / (72 * box.width / dpi))
        plate = best_plate(view, [shapely.Polygon(xy) for xy in view.polygons(parts)])
        if plate.covers == 0.0:
            break
    return view, plate


def _dress(view: MapView) -> None:
    """Set limits, ground and border."""
    axes, window = view.axes, view.window
    axes.set_xlim(window.left, window.right)
    axes.set_ylim(window.bottom, window.top)
    axes.set_autoscale_on(False)
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_facecolor(view.palette.paper)
    for spine in axes.spines.values():
        spine.set(color=view.palette.ink, linewidth=0.9, zorder=12)

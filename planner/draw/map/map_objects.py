"""Catalogue entries on a map: ellipses where there is no outline, and names where they cover nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.catalogue import CatalogueObject, ellipse_vectors, objects_within, turned_axes
from planner.catalogue.nebulae import Nebula, all_nebulae

from .map_nebulae import shown_kind, tint
from .map_view import MapView, text_width_pt

__all__ = ["UNKNOWN_TURN_DASHES", "MapObject", "draw_object_names", "draw_objects"]

SMALLEST, SMALLEST_DARK = 0.009, 0.03
SMALLEST_NAMED = 0.012
"""Entries below these fractions of the window's width are left out, or go without a name."""
MOST_NEBULAE, MOST_DARK, MOST_OTHERS, MOST_NAMES = 20, 7, 40, 20
NAME_PT = 7.0
RIM_CORNERS = 240
ALPHA = 0.7
"""Of ellipses: they are the quietest lines on the map."""
UNKNOWN_TURN_DASHES = (0, (1, 1.6))
DIRECTIONS = ((-1, 0), (1, 0), (0, 1), (0, -1), (-0.7, 0.7), (0.7, 0.7), (-0.7, -0.7), (0.7, -0.7))
"""Places tried about an ellipse, in order, as (right, up) steps of its size."""
NEBULOUS = (
    "ionised region",
    "dark nebula",
    "emission nebula",
    "nebula",
    "reflection nebula",
    "supernova remnant",
    "cluster with nebula",
)
"""OpenNGC's kinds that stand among the nebulae."""


@dataclass(frozen=True, eq=False)
class MapObject:
    """An entry on the map.

    Parameters
    ----------
    label : str
    kind : str
        A kind of nebula as shown on paper, or ``other``.
    rim : ndarray, shape (K, 3)
        Its ellipse, or the circle over its longer axis where its turn is unknown.
    major_arcmin : float
    turn_is_known : bool
    """

    label: str
    kind: str
    rim: NDArray[np.float64]
    major_arcmin: float
    turn_is_known: bool


def draw_objects(view: MapView, outlined: Mapping[int, NDArray[np.float64]]) -> list[MapObject]:
    """Ellipses of entries whose rim is seen; returns those drawn, largest first.

    Parameters
    ----------
    view : MapView
    outlined : mapping
        Indices of nebulae that are drawn by their outlines and need no ellipse.
    """
    objects = [item for item in (*_nebulae(view, outlined), *_others(view)) if _is_seen(view, item)]
    objects.sort(key=lambda item: (-item.major_arcmin, item.label))
    chosen = _fewer(objects)
    for kind in sorted({item.kind for item in chosen}):
        color = view.palette.sky_object if kind == "other" else tint(view.palette, kind)
        for known, style in ((True, "solid"), (False, UNKNOWN_TURN_DASHES)):
            parts = [item.rim for item in chosen if item.kind == kind and item.turn_is_known is known]
            name = "object" if known else "object of unknown turn"
            view.outline(
                view.polygons(parts), name, color=color, width=0.7, style=style, zorder=3, alpha=ALPHA
            )
    return chosen


def _fewer(objects: Sequence[MapObject]) -> list[MapObject]:
    """Return the largest of each sort: the sky is full of dark clouds."""
    room = {"other": MOST_OTHERS, "dark": MOST_DARK}
    nebulae = MOST_NEBULAE
    chosen = []
    for item in objects:
        if item.kind in room:
            room[item.kind] -= 1
            if room[item.kind] >= 0:
                chosen.append(item)
        elif nebulae > 0:
            nebulae -= 1
            chosen.append(item)
    return chosen


def _arcmin(view: MapView, fraction: float) -> float:
    """Angle of a fraction of the window's width, arc minutes."""
    return float(np.degrees(np.arctan(view.window.width * fraction))) * 60


def _nebulae(view: MapView, outlined: Mapping[int, NDArray[np.float64]]) -> list[MapObject]:
    """Nebulae that are drawn by no outline."""
    nebulae, window = all_nebulae(), view.window
    least, least_dark = _arcmin(view, SMALLEST), _arcmin(view, SMALLEST_DARK)
    within = nebulae.within(window.middle, window.radius_rad, smallest_arcmin=least)
    near = [index for index in within if index not in outlined]
    whole = [xy for index, xy in outlined.items() if nebulae.kind(index) != "complex"]
    inside = _inside(window.project(nebulae.vectors[near]), whole)
    return [
        _from_nebula(nebulae[index])
        for index, hidden in zip(near, inside, strict=True)
        if (nebulae.major_arcmin[index] >= least_dark if nebulae.kind(index) == "dark" else not hidden)
    ]


def _inside(centers: NDArray[np.float64], outlines: Sequence[NDArray[np.float64]]) -> NDArray[np.bool_]:
    """Whether bright entries lie in an outline, which shows them better than a circle does."""
    if not outlines or not len(centers):
        return np.zeros(len(centers), dtype=bool)
    whole = shapely.union_all([shapely.make_valid(shapely.Polygon(xy)) for xy in outlines])
    return np.asarray(shapely.contains_xy(whole, centers[:, 0], centers[:, 1]))


def _from_nebula(nebula: Nebula) -> MapObject:
    size = nebula.size
    assert size is not None and size.major_arcmin is not None and size.minor_arcmin is not None
    center = (nebula.ra_deg, nebula.dec_deg)
    return _map_object(
        nebula.name,
        shown_kind(nebula.kind) if nebula.kind != "star cluster" else "other",
        center,
        (size.major_arcmin, size.minor_arcmin, size.position_angle_deg),
    )


def _others(view: MapView) -> list[MapObject]:
    """Objects that OpenNGC alone has: galaxies, clusters, planetary nebulae."""
    least = _arcmin(view, SMALLEST)
    near = objects_within(view.window.middle, view.window.radius_rad, smallest_arcmin=least)
    return [_from_catalogue(item) for item in near if item.kind not in NEBULOUS]


def _from_catalogue(item: CatalogueObject) -> MapObject:
    major, minor = item.major_arcmin or 0.0, item.minor_arcmin or 0.0
    return _map_object(
        item.label, "other", (item.ra_deg, item.dec_deg), (major, minor, item.position_angle_deg)
    )


def _map_object(
    label: str, kind: str, center: tuple[float, float], axes: tuple[float, float, float | None]
) -> MapObject:
    major, minor, angle = axes
    minor, turned, known = turned_axes(major, minor, angle)
    rim = ellipse_vectors(center, major, minor, turned, corners=RIM_CORNERS)
    return MapObject(label, kind, rim, major, known)


def _is_seen(view: MapView, item: MapObject) -> bool:
    window = view.window
    return any(
        shapely.box(window.right, window.bottom, window.left, window.top).intersects(shapely.LinearRing(rim))
        for rim in view.polygons([item.rim])
    )


def draw_object_names(
    view: MapView, objects: Sequence[MapObject], outlined: Mapping[int, NDArray[np.float64]]
) -> None:
    """Write the names of the larger nebulae and objects beside them, as far as there is room.

    Outlines first, then ellipses, each from the largest down: fewer names rather than crowded ones.
    """
    least = SMALLEST_NAMED * view.window.width
    nebulae = all_nebulae()
    shapes = [
        (nebulae[index].name, rim, tint(view.palette, nebulae.kind(index))) for index, rim in outlined.items()
    ]
    shapes.sort(key=lambda shape: -np.ptp(shape[1], axis=0).max())
    for item in objects:
        color = view.palette.sky_object if item.kind == "other" else tint(view.palette, item.kind)
        shapes.append((item.label, view.window.project(item.rim), color))
    named = 0
    for label, rim, color in shapes:
        if named < MOST_NAMES and np.ptp(rim, axis=0).max() >= least:
            named += _place(view, label, rim, color)


def _place(view: MapView, label: str, rim: NDArray[np.float64], color: str) -> bool:
    width = text_width_pt(label, NAME_PT)
    for at_x, at_y in _places(view, rim, width, NAME_PT):
        box = view.box(at_x, at_y, width + 3, NAME_PT + 2)
        if view.is_free(box):
            view.write(label, at_x, at_y, size=NAME_PT, color=color, kind="object name", zorder=8)
            view.taken.append(box)
            return True
    return False


def _places(view: MapView, rim: NDArray[np.float64], width: float, size: float) -> NDArray[np.float64]:
    """Places for a name: about the shape, then upon what is seen of its rim; shape (N, 2)."""
    middle, reach = (rim.max(axis=0) + rim.min(axis=0)) / 2, np.ptp(rim, axis=0) / 2
    step = reach + np.array([width / 2 + 3, size / 2 + 2]) * view.unit
    about = middle + np.array(DIRECTIONS) * [-1, 1] * step
    return np.concatenate([about, rim[view.window.holds(rim)][::5]])

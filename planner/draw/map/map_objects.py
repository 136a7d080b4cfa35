"""Catalogue objects on a map: ellipses, and names where they cover nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.catalogue import CatalogueObject, ellipse_vectors, objects_within

from .map_view import MapView, text_width_pt

__all__ = ["draw_object_names", "draw_objects", "turn_is_known"]

SMALLEST = 0.005
SMALLEST_NAMED = 0.009
"""Objects below these fractions of the window's width are left out, or go without a name."""
MOST_OBJECTS, MOST_NAMES = 90, 26
RIM_CORNERS = 240
UNKNOWN_TURN_DASHES = (0, (1, 1.6))
DIRECTIONS = ((-1, 0), (1, 0), (0, 1), (0, -1), (-0.7, 0.7), (0.7, 0.7), (-0.7, -0.7), (0.7, -0.7))
"""Places tried about an ellipse, in order, as (right, up) steps of its size."""


def draw_objects(view: MapView) -> list[CatalogueObject]:
    """Ellipses of catalogue objects whose rim is seen; returns the objects drawn, largest first.

    An ellipse of which the catalogue does not know how it is turned is drawn as the dotted circle over its
    longer axis.
    """
    smallest_arcmin = _arcmin(view, SMALLEST)
    near = objects_within(view.window.middle, view.window.radius_rad, smallest_arcmin=smallest_arcmin)
    objects = [item for item in near if _is_seen(view, item)][:MOST_OBJECTS]
    for known, style in ((True, "solid"), (False, UNKNOWN_TURN_DASHES)):
        rims = view.polygons([_rim(item) for item in objects if turn_is_known(item) is known])
        kind = "object" if known else "object of unknown turn"
        view.outline(rims, kind, color=view.palette.sky_object, width=0.9, style=style, zorder=3)
    return objects


def _arcmin(view: MapView, fraction: float) -> float:
    """Angle of a fraction of the window's width, arc minutes."""
    return float(np.degrees(np.arctan(view.window.width * fraction))) * 60


def turn_is_known(item: CatalogueObject) -> bool:
    """Whether the catalogue says how the ellipse lies, or it is a circle."""
    return item.position_angle_deg is not None or item.minor_arcmin == item.major_arcmin


def _rim(item: CatalogueObject) -> NDArray[np.float64]:
    """Corner vectors of the ellipse, or of the circle over its length where its turn is unknown."""
    major, minor = item.major_arcmin or 0.0, item.minor_arcmin or 0.0
    if not turn_is_known(item):
        minor = major
    center, angle = (item.ra_deg, item.dec_deg), item.position_angle_deg or 0.0
    return ellipse_vectors(center, major, minor, angle, corners=RIM_CORNERS)


def _is_seen(view: MapView, item: CatalogueObject) -> bool:
    window = view.window
    return any(
        shapely.box(window.right, window.bottom, window.left, window.top).intersects(shapely.LinearRing(rim))
        for rim in view.polygons([_rim(item)])
    )


def draw_object_names(view: MapView, objects: Sequence[CatalogueObject], *, size: float = 7.0) -> int:
    """Write the names of the larger objects beside their ellipses; returns how many found room."""
    smallest_arcmin = _arcmin(view, SMALLEST_NAMED)
    named = 0
    for item in objects:
        if named < MOST_NAMES and (item.major_arcmin or 0.0) >= smallest_arcmin:
            named += _place(view, item, size)
    return named


def _place(view: MapView, item: CatalogueObject, size: float) -> bool:
    width = text_width_pt(item.label, size)
    for at_x, at_y in _places(view, item, width, size):
        box = view.box(at_x, at_y, width + 3, size + 2)
        if view.is_free(box):
            view.write(
                item.label, at_x, at_y, size=size, color=view.palette.sky_object, kind="object name", zorder=8
            )
            view.taken.append(box)
            return True
    return False


def _places(view: MapView, item: CatalogueObject, width: float, size: float) -> NDArray[np.float64]:
    """Places for a name: about the ellipse, then upon what is seen of its rim; shape (N, 2)."""
    rim = view.window.project(_rim(item))
    middle, reach = (rim.max(axis=0) + rim.min(axis=0)) / 2, np.ptp(rim, axis=0) / 2
    step = reach + np.array([width / 2 + 3, size / 2 + 2]) * view.unit
    about = middle + np.array(DIRECTIONS) * [-1, 1] * step
    return np.concatenate([about, rim[view.window.holds(rim)][::5]])

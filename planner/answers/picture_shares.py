"""How picture and panels share the sky: what of the picture is filled, what is covered outside of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from planner.geometry import steady, vector_to_plane
from planner.mosaic.panel import panel_corners

if TYPE_CHECKING:
    from planner.mosaic.mosaic import Mosaic
    from planner.request.picture import Picture

__all__ = ["PictureShares", "picture_shares"]

LEAST_DEPTH = 0.02
"""Panels must lie so far in front of the picture's plane."""


@dataclass(frozen=True)
class PictureShares:
    """Shares in [0, 1], by area in the picture's tangent plane.

    Parameters
    ----------
    filled : float
        Of the picture: covered by panels.
    outside : float
        Of what panels cover: outside of the picture.
    """

    filled: float
    outside: float


def picture_shares(mosaic: Mosaic, picture: Picture) -> PictureShares:
    """Return which share of the picture panels fill, and which share of what they cover lies outside of it.

    Parameters
    ----------
    mosaic : Mosaic
    picture : Picture
    """
    rectangle = picture.as_region()
    corners = panel_corners(mosaic.panels, mosaic.field)
    near = steady.dot(corners, rectangle.basis[2]).min(axis=1) > LEAST_DEPTH
    covered = shapely.union_all(shapely.polygons(vector_to_plane(corners[near], rectangle.basis)))
    inside = float(shapely.intersection(covered, rectangle.polygon).area)
    outside = 1.0 - inside / float(covered.area) if covered.area else 0.0
    return PictureShares(inside / float(rectangle.polygon.area), max(0.0, outside))

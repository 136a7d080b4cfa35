"""The picture: the rectangle of sky that the finished print shows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.geometry import sky_to_vector
from planner.mosaic.mosaic import Axes, Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.rectangle import Rectangle, smallest_rectangle
from planner.mosaic.region import Region

from .request import Request

__all__ = ["Picture", "picture_of"]

CLOSE_RAD = 1e-9
"""Axes nearer than this to the picture's centre stand there."""


@dataclass(frozen=True)
class Picture(Rectangle):
    """The rectangle of sky that the finished print shows; see `Rectangle`.

    Parameters
    ----------
    pixels : (int, int)
        Width and height at the panels' scale at the centre, binned pixels.
    """

    pixels: tuple[int, int]


def picture_of(request: Request, mosaic: Mosaic, region: Region) -> Picture:
    """Return the picture: the smallest rectangle about the region, at the asked angle and aspect."""
    asked = request.picture
    if asked and asked.position_angle_deg is not None:
        stands = Orientation.common(asked.position_angle_deg)
    elif mosaic.axes:
        stands = _square_with(mosaic.axes, region)
    else:
        stands = Orientation.common(mosaic.panels[0].position_angle_deg)
    rectangle = smallest_rectangle(region, stands)
    if asked and asked.aspect:
        rectangle = rectangle.with_aspect(*asked.aspect)
    return Picture(
        rectangle.center_deg,
        rectangle.width_deg,
        rectangle.height_deg,
        rectangle.position_angle_deg,
        _pixels(rectangle, request.camera.scale_arcsec_px),
    )


def _square_with(axes: Axes, region: Region) -> Orientation:
    """Return how a picture stands that is square with the axes; exactly at their angle where it is about them."""
    exact = Orientation.common(axes.position_angle_deg)
    center = sky_to_vector(*smallest_rectangle(region, exact).center_deg)
    if np.abs(center - sky_to_vector(axes.ra_deg, axes.dec_deg)).max() < CLOSE_RAD:
        return exact
    return Orientation.square_with(axes.ra_deg, axes.dec_deg, axes.position_angle_deg)


def _pixels(rectangle: Rectangle, scale_arcsec_px: float) -> tuple[int, int]:
    """Size in pixels of a picture in the tangent plane, scaled as the panels are at their centres."""
    scale_rad = math.radians(scale_arcsec_px / 3600)
    sizes = (2 * math.tan(math.radians(size) / 2) for size in (rectangle.width_deg, rectangle.height_deg))
    width, height = (max(1, round(size / scale_rad)) for size in sizes)
    return width, height

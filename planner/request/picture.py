"""The picture: the rectangle of sky that the finished print shows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.geometry import sky_to_vector, steady
from planner.mosaic.mosaic import Axes, Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.rectangle import Rectangle, smallest_rectangle
from planner.mosaic.region import Region

from .request import Request

__all__ = ["Picture", "panels_stand", "picture_from", "picture_of", "smallest_picture"]

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
    pinned_deg = asked.position_angle_deg if asked else None
    stands = panels_stand(mosaic) if pinned_deg is None else Orientation.common(pinned_deg)
    rectangle = smallest_picture(request, region, stands)
    return picture_from(rectangle, request.camera.scale_arcsec_px)


def panels_stand(mosaic: Mosaic) -> Orientation:
    """Return the orientation of the panels: of the first, where they have several angles."""
    axes = mosaic.axes
    if axes is None:
        return Orientation.common(mosaic.panels[0].position_angle_deg)
    return _square_with(axes, mosaic.region)


def smallest_picture(request: Request, region: Region, stands: Orientation) -> Rectangle:
    """Return the smallest rectangle about a region of the aspect asked for, either way up where that is allowed."""
    rectangle = smallest_rectangle(region, stands)
    aspects = request.picture.aspects if request.picture else (None,)
    wider = [rectangle if aspect is None else rectangle.with_aspect(aspect, 1.0) for aspect in aspects]
    return min(wider, key=lambda one: one.width_deg * one.height_deg)


def picture_from(rectangle: Rectangle, scale_arcsec_px: float) -> Picture:
    """Return a rectangle as a picture, with its size in pixels."""
    return Picture(
        rectangle.center_deg,
        rectangle.width_deg,
        rectangle.height_deg,
        rectangle.position_angle_deg,
        _pixels(rectangle, scale_arcsec_px),
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
    sizes = (2 * steady.tan(math.radians(size) / 2) for size in (rectangle.width_deg, rectangle.height_deg))
    width, height = (max(1, round(size / scale_rad)) for size in sizes)
    return width, height

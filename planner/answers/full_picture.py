"""The largest picture without an empty corner that a plan's panels give."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

from planner.mosaic.layout.full_rectangle import FilledGround
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import panel_corners
from planner.mosaic.rectangle import Rectangle
from planner.request.picture import Picture, panels_stand, picture_from
from planner.request.request import Request

__all__ = ["FullPicture", "full_picture_of"]

LEAST_GAIN = 1.005
"""Another angle is told of where it gives so many times the area."""


@dataclass(frozen=True, eq=False)
class FullPicture:
    """The largest rectangle that panels fill.

    Parameters
    ----------
    picture : Picture
        Square with the panels.
    ground : FilledGround
        All that lies in a panel.
    aspects : tuple of (float or None)
        Width over height that were asked for; None: any.
    scale_arcsec_px : float
        Of the camera.
    """

    picture: Picture
    ground: FilledGround
    aspects: tuple[float | None, ...]
    scale_arcsec_px: float

    @cached_property
    def turned(self) -> Picture | None:
        """The largest at the angle that gives most; None where no angle gives more."""
        up_deg = self.picture.position_angle_deg
        others = [
            (Orientation.common(self.ground.best_angle_deg(aspect, start_deg=up_deg)), aspect)
            for aspect in self.aspects
        ]
        turned = _largest(self.ground, others)
        if turned is None or _area(turned) <= LEAST_GAIN * _area(self.picture):
            return None
        return picture_from(turned, self.scale_arcsec_px)


def full_picture_of(request: Request, mosaic: Mosaic) -> FullPicture | None:
    """Return the largest full picture, of the aspect asked for or else of any; None where the panels give none.

    Parameters
    ----------
    request : Request
        Its picture says which aspect, and which way up.
    mosaic : Mosaic
    """
    aspects = request.picture.aspects if request.picture else (None,)
    return _full_picture(mosaic, aspects, request.camera.scale_arcsec_px)


@lru_cache(maxsize=64)
def _full_picture(
    mosaic: Mosaic, aspects: tuple[float | None, ...], scale_arcsec_px: float
) -> FullPicture | None:
    """Return the largest full picture; what was last asked is not worked out again."""
    ground = FilledGround(panel_corners(mosaic.panels, mosaic.field))
    stands = panels_stand(mosaic)
    largest = _largest(ground, [(stands, aspect) for aspect in aspects])
    if largest is None:
        return None
    return FullPicture(picture_from(largest, scale_arcsec_px), ground, aspects, scale_arcsec_px)


def _largest(ground: FilledGround, ways: list[tuple[Orientation, float | None]]) -> Rectangle | None:
    """Return the largest rectangle of several orientations and aspects."""
    found = (ground.largest(stands, aspect) for stands, aspect in ways)
    return max((one for one in found if one is not None), key=_area, default=None)


def _area(rectangle: Rectangle) -> float:
    return rectangle.width_deg * rectangle.height_deg

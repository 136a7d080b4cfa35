"""How near a region comes to a pole of a system, and what meridians do there."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, steady, vector_to_plane

from .orientation import Orientation
from .region import Region

__all__ = [
    "CONVERGING",
    "LOSING",
    "MARCHED",
    "RIM_POINTS",
    "STEEPEST",
    "comes_near",
    "greatest_latitude",
    "greatest_turn",
    "is_steep",
]

Array = NDArray[np.float64]

RIM_POINTS = 400
LOSING = math.radians(60.0)
"""Where five fields of 3.3 degrees in a row at 15 per cent overlap keep half of it, as meridians converge."""
CONVERGING = math.radians(80.0)
"""From here on rows get more ways and shifts, and may follow rings about the pole: chosen by trials."""
STEEPEST = math.radians(82.0)
"""Up to this latitude the lattice follows the orientation's own system: chosen by trials."""
MARCHED = math.radians(88.0)
"""Estimates of how rows shrink stop here: on the pole they would be without bound."""


def greatest_latitude(region: Region, orientation: Orientation) -> float:
    """Largest distance of the region from the equator of the orientation's system, radians; pi/2 around a pole."""
    pole = orientation.rotation[2]
    inside = any(
        float(sign * steady.dot(pole, region.basis[2])) > 0.2
        and shapely.intersects_xy(region.polygon, *vector_to_plane(sign * pole, region.basis))
        for sign in (1.0, -1.0)
    )
    if inside:
        return math.pi / 2
    return rim_latitude(region, orientation)


def rim_latitude(region: Region, orientation: Orientation) -> float:
    """Largest distance of the region's rim from the equator of the orientation's system, radians."""
    rim = shapely.segmentize(region.polygon.boundary, region.polygon.length / RIM_POINTS)
    rim_vectors = plane_to_vector(shapely.get_coordinates(rim), region.basis)
    depth = np.abs(steady.dot(rim_vectors, orientation.rotation[2]))
    return steady.arcsin(min(1.0, float(depth.max())))


def greatest_turn(latitude: Array, far: float) -> Array:
    """Greatest convergence of meridians between a point and a panel's centre within the angular distance `far`."""
    cos, sin = steady.cos_sin(np.abs(latitude))
    cos_half, sin_half = steady.cos_sin(far / 2)
    beyond = cos * cos_half < sin * sin_half  # the mean latitude then counts as that of the pole
    sin_mean = np.where(beyond, 1.0, sin * cos_half + cos * sin_half)
    sin_longitude = np.minimum(1.0, 2 * sin_half * cos_half / cos)
    twice = 1.0 + np.sqrt((1.0 - sin_longitude) * (1.0 + sin_longitude))
    return 2 * steady.arctan2(sin_longitude * sin_mean, twice * cos_half)


def is_steep(region: Region, orientation: Orientation) -> bool:
    """Whether the region comes so near a pole of the orientation's system that its lattice follows it no more."""
    return comes_near(region, orientation, STEEPEST)


def comes_near(region: Region, orientation: Orientation, latitude_rad: float) -> bool:
    """Whether the circle about the region's middle that holds it reaches a latitude of the orientation's system."""
    height = abs(float(steady.dot(orientation.rotation[2], region.basis[2])))
    return steady.arcsin(min(1.0, height)) + region.radius_rad >= latitude_rad

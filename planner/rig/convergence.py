"""Differential turns across a mosaic: meridians that converge, and a polar axis that is a little off.

A camera that nobody turns keeps its angle against the hour circles of the mount. Hour circles converge at
the pole that the mount turns about, so the panels are turned against the picture and against each other, and
a polar axis that misses the celestial pole turns each panel by a slightly different angle. Both are worked
out on the sphere, without small-angle formulas.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import east_north, sky_basis, wrapped_deg
from planner.mosaic.panel import Panel

from .field_rotation import SIDEREAL_DEG_PER_H

__all__ = ["PolarError", "polar_error", "turns_against_deg"]

DIRECTIONS = 120
"""Directions in which the polar axis may be off, evenly about the pole."""


def turns_against_deg(
    panels: Sequence[Panel], ra_deg: float, dec_deg: float, position_angle_deg: float
) -> NDArray[np.float64]:
    """Angle of each panel's up against the picture's up at the panel's own centre, degrees in [-180, 180).

    The picture's up at a place points along the great circle to the pole of the picture's own system, 90
    degrees above its centre. Positive: the panel is turned further east of north.

    Parameters
    ----------
    panels : sequence of Panel
    ra_deg, dec_deg, position_angle_deg : float
        Centre of the picture and the position angle of its up direction.

    Returns
    -------
    ndarray, shape (N,)
    """
    pole = sky_basis(ra_deg, dec_deg, position_angle_deg)[1]
    values = np.array([(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in panels]).reshape(-1, 3)
    east, north = east_north(values[:, 0], values[:, 1])
    up = np.degrees(np.arctan2(east @ pole, north @ pole))
    return np.asarray(wrapped_deg(values[:, 2] - up))


@dataclass(frozen=True)
class PolarError:
    """What a polar axis that is off does to a mosaic, in the worst direction of the error.

    Parameters
    ----------
    spread_deg : float
        Largest difference of the turn between two panels.
    turn_deg : float
        Largest turn of any panel between two hour angles.
    rate_deg_per_h : float
        Fastest rotation of a field that is guided on its centre.
    """

    spread_deg: float
    turn_deg: float
    rate_deg_per_h: float


def polar_error(panels: Sequence[Panel], error_arcmin: float) -> PolarError:
    """Return what a polar axis does that misses the celestial pole by some arc minutes.

    The camera keeps its angle against the direction to the mount's pole. Seen from a panel that pole stands
    at a position angle that is not quite 0 (or, in the south, not quite 180): that is the turn. It changes
    while the sky goes round, since the mount's pole stays where it is.

    Parameters
    ----------
    panels : sequence of Panel
    error_arcmin : float
    """
    angle = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    tilt = math.radians(error_arcmin / 60.0)
    across, along = math.sin(tilt), np.full(DIRECTIONS, math.cos(tilt))
    pole = np.stack([across * np.cos(angle), across * np.sin(angle), along], axis=-1)
    values = np.array([(p.ra_deg, p.dec_deg) for p in panels]).reshape(-1, 2)
    east, north = east_north(*values.T)
    turn = np.degrees(np.arctan2(east @ pole.T, north @ pole.T))
    step = np.abs(wrapped_deg(np.roll(turn, -1, axis=1) - turn))
    return PolarError(
        spread_deg=float(_spread(turn, axis=0).max()),
        turn_deg=float(_spread(turn, axis=1).max()),
        rate_deg_per_h=float(step.max()) * DIRECTIONS / 360.0 * SIDEREAL_DEG_PER_H,
    )


def _spread(turn_deg: NDArray[np.float64], *, axis: int) -> NDArray[np.float64]:
    """Largest less smallest along an axis, on the circle about the first; degrees."""
    first = np.take(turn_deg, [0], axis=axis)
    near = wrapped_deg(turn_deg - first)
    return np.asarray(np.ptp(near, axis=axis))

"""Camera angles within a device's travel, as arcs: which of the angles that a plan allows can be reached."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .angle_device import AngleDevice

__all__ = ["arcs_rad", "common_arcs", "travel_arc"]

Arc = tuple[float, float]
"""First angle and span, degrees; a span of 0 is a single angle."""


def travel_arc(device: AngleDevice | None, *, period_deg: float) -> Arc:
    """Return the position angles that a device's travel reaches, modulo a period; all without a device.

    >>> travel_arc(AngleDevice("fixed", zero_deg=200.0), period_deg=180.0)
    (20.0, 0.0)
    >>> travel_arc(AngleDevice("rotator", sense=-1, range_deg=(10.0, 40.0)), period_deg=180.0)
    (140.0, 30.0)
    """
    if device is None:
        return 0.0, period_deg
    low, high = device.travel_deg
    if high - low >= period_deg:
        return 0.0, period_deg
    return device.position_angle_of(low if device.sense > 0 else high) % period_deg, high - low


def arcs_rad(arcs: Sequence[Arc] | None) -> list[Arc] | None:
    """Return arcs in radians; None, where all angles are in reach, stays so."""
    return None if arcs is None else [(math.radians(start), math.radians(span)) for start, span in arcs]


def common_arcs(first: Arc, second: Arc, *, period_deg: float) -> tuple[Arc, ...]:
    """Return the arcs that two arcs share, modulo a period: none, one or two.

    >>> common_arcs((170.0, 20.0), (0.0, 5.0), period_deg=180.0)
    ((0.0, 5.0),)
    >>> common_arcs((0.0, 100.0), (90.0, 100.0), period_deg=180.0)
    ((90.0, 10.0), (0.0, 10.0))
    """
    for whole, other in ((first, second), (second, first)):
        if whole[1] >= period_deg:
            return (other,)
    (start, span), (other_start, other_span) = first, second
    ahead = (other_start - start) % period_deg
    found = []
    for off in (ahead, ahead - period_deg):
        low, high = max(0.0, off), min(span, off + other_span)
        if high >= low - 1e-9:
            found.append(((start + low) % period_deg, max(0.0, high - low)))
    return tuple(found)

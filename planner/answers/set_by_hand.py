"""Whether a plan allows for what an adjuster set by hand is off by, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.mosaic.mosaic import Mosaic

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["hand_error_notes", "trusts_the_hand", "trusting_words"]

MOST_PANELS = 500
"""Beyond, the proof takes too long for a note."""


def trusts_the_hand(request: Request) -> bool:
    """Whether the device is set by hand and the angle error allowed for is below half a division."""
    device = request.angle_device
    return (
        device is not None
        and device.kind == "adjuster"
        and request.mosaic.angle_error_deg < device.division_deg / 2
    )


def trusting_words(half_division_deg: float, titles: Sequence[str]) -> str:
    """Say in which targets less is allowed for than an adjuster set by hand is off by.

    Parameters
    ----------
    half_division_deg : float
    titles : sequence of str
        Of the targets; at least one.
    """
    return (
        f"an adjuster set by hand is off by half a division ({half_division_deg:g} degrees) or more, but "
        f"angle_error_deg is less in {', '.join(map(repr, titles))}; raise it there"
    )


def hand_error_notes(request: Request, mosaic: Mosaic) -> Iterator[str]:
    """Say so where a plan allows for less than half a division, and that much can open gaps in it.

    Nothing is said of a plan in which gaps can open anyway, or that has more than `MOST_PANELS` panels.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
        All panels that cover the region together.
    """
    from planner.rig.tolerance import forgives

    device = request.angle_device
    if device is None or not trusts_the_hand(request):
        return
    if not mosaic.covered or mosaic.gap_after_errors_deg2 > 0 or not 0 < len(mosaic.panels) <= MOST_PANELS:
        return
    half_deg = device.division_deg / 2
    shift_arcmin = request.mosaic.pointing_error_arcmin + request.mosaic.dither_arcmin
    if not forgives(mosaic, half_deg, shift_arcmin=shift_arcmin):
        yield trusting_words(half_deg, [request.title])

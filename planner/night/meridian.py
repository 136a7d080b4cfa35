"""The meridian: transits, flips and the side to which the telescope looks.

The telescope of a German mount looks east until its flip at the upper transit, and west after it. It goes on
for `flip_after_transit_min` past that transit before it flips. At the lower transit (a panel below the pole) it
is the other way round: it looks west before, and turns back to looking east at once. Other mounts do not flip.
"""

from __future__ import annotations

import math

from planner.geometry.looking import Looking

from .observer import TURN_S
from .spans import Span

__all__ = ["cut_at_flips", "flips_within"]


def cut_at_flips(
    span_s: Span, transit_s: float, flip_after_s: float | None
) -> list[tuple[Span, Looking | None]]:
    """Cut a span where the mount flips.

    Parameters
    ----------
    span_s : (float, float)
    transit_s : float
        Any upper transit of the panel.
    flip_after_s : float or None
        How long after the transit the mount flips; None: it never flips.

    Returns
    -------
    list of (span, side)
        The side to which the telescope looks; None for a mount that never flips.
    """
    if flip_after_s is None:
        return [(span_s, None)]
    edges = [span_s[0], *sorted(_changes(span_s, transit_s, flip_after_s)), span_s[1]]
    pieces = zip(edges, edges[1:], strict=False)
    return [((a, b), _looking((a + b) / 2.0, transit_s, flip_after_s)) for a, b in pieces if a < b]


def flips_within(span_s: Span, transit_s: float, flip_after_s: float | None) -> list[float]:
    """Instants inside a span at which the mount flips after an upper transit."""
    return [] if flip_after_s is None else _repeats(span_s, transit_s + flip_after_s)


def _changes(span_s: Span, transit_s: float, flip_after_s: float) -> list[float]:
    return _repeats(span_s, transit_s + flip_after_s) + _repeats(span_s, transit_s + TURN_S / 2.0)


def _repeats(span_s: Span, time_s: float) -> list[float]:
    """Instants that lie whole sidereal days from one, inside a span."""
    first = math.floor((span_s[0] - time_s) / TURN_S) + 1
    last = math.ceil((span_s[1] - time_s) / TURN_S) - 1
    return [time_s + number * TURN_S for number in range(first, last + 1)]


def _looking(time_s: float, transit_s: float, flip_after_s: float) -> Looking:
    since = (time_s - transit_s) % TURN_S
    return "west" if flip_after_s <= since < TURN_S / 2.0 else "east"

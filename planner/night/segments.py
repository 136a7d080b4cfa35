"""Segments: spans in which a panel may be shot through a filter without a break.

A segment lies inside a window, keeps the filter's rule on the Moon and the distance from the Sun, and does
not contain a flip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.geometry.looking import Looking

from .evening import Evening
from .meridian import cut_at_flips
from .moon_rule import MoonRule, moon_rule
from .settings import Filter
from .spans import Span, common, spans_where, without
from .visibility import Samples, Visibility

__all__ = ["SUN_LIMIT_DEG", "Segment", "find_segments"]

SUN_LIMIT_DEG = 30.0
"""Nothing is planned nearer to the Sun."""


@dataclass(frozen=True)
class Segment:
    """Where a block of one panel and one filter may lie.

    Parameters
    ----------
    panel, chosen : int
        Indices of panel and filter.
    start_s, end_s : int
        POSIX seconds.
    looking : {'east', 'west'} or None
        To which side the telescope looks; None for a mount that never flips.
    """

    panel: int
    chosen: int
    start_s: int
    end_s: int
    looking: Looking | None


def find_segments(
    evening: Evening,
    samples: Sequence[Samples],
    sight: Visibility,
    filters: Sequence[Filter],
    flip_after_s: float | None,
) -> tuple[Segment, ...]:
    """Find the segments of all panels and filters on an evening.

    Parameters
    ----------
    samples : sequence of Samples
        One for each of the evening's dark spans.
    flip_after_s : float or None
        How long after a transit the mount flips; None: it never flips.
    """
    rules = [moon_rule(chosen) for chosen in filters]
    found: list[Segment] = []
    for panel in np.unique(sight.panel).tolist() if filters else ():
        windows = without(sight.windows_of(panel), _near_sun(samples, panel))
        for rule in dict.fromkeys(rules):
            allowed = _allowed(windows, evening, samples, panel, rule)
            cuts = [cut_at_flips(span, float(sight.transit_s[panel]), flip_after_s) for span in allowed]
            pieces = [piece for cut in cuts for piece in cut]
            for index in (number for number, other in enumerate(rules) if other == rule):
                found += [_segment(panel, index, span, looking) for span, looking in pieces]
    return tuple(one for one in found if one.start_s < one.end_s)


def _segment(panel: int, chosen: int, span: Span, looking: Looking | None) -> Segment:
    return Segment(panel, chosen, math.ceil(span[0]), math.floor(span[1]), looking)


def _near_sun(samples: Sequence[Samples], panel: int) -> list[Span]:
    limit = math.cos(math.radians(SUN_LIMIT_DEG))
    return [
        (float(one.time_s[0]) - 1.0, float(one.time_s[-1]) + 1.0)
        for one in samples
        if one.stars[panel] @ one.sun > limit
    ]


def _allowed(
    windows: list[Span], evening: Evening, samples: Sequence[Samples], panel: int, rule: MoonRule
) -> list[Span]:
    """Windows less the time in which the Moon is up and breaks the rule."""
    up = common(windows, evening.moon_s)
    if not up or rule == MoonRule():
        return windows
    if evening.moon_illumination > rule.illumination:
        return without(windows, up)
    return without(windows, common(up, _near_moon(samples, panel, rule.separation_deg)))


def _near_moon(samples: Sequence[Samples], panel: int, separation_deg: float) -> list[Span]:
    """Spans in which the Moon is nearer to the panel than allowed (a second is added at both ends)."""
    limit, spans = math.cos(math.radians(separation_deg)), []
    for one in samples:
        margin = one.moon_cosine[panel] - limit
        if margin.max() > 0.0:
            spans += [(float(a) - 1.0, float(b) + 1.0) for a, b in spans_where(margin[None], one.time_s)[1]]
    return spans

"""The scale of an angle device as a small drawing for the screen: SVG in the colours of the page.

Seen from behind the camera, looking along it towards the sky; reading 0 on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

__all__ = ["dial_svg"]

RIM, LONG_TICK, SHORT_TICK, LABEL = 100.0, 88.0, 93.0, 116.0
STEP_DEG, LABEL_EVERY_DEG = 10, 30


def dial_svg(
    target_deg: float,
    *,
    present_deg: float | None = None,
    travel_deg: tuple[float, float] = (0.0, 360.0),
    direction: int = 1,
) -> str:
    """Draw the dial.

    Parameters
    ----------
    target_deg : float
        Reading to set: the full hand.
    present_deg : float, optional
        Reading now: the dashed hand.
    travel_deg : (float, float)
        What can be reached; the rest of the rim is drawn faint.
    direction : {1, -1}
        1 where readings grow counter-clockwise as seen from behind the camera.

    Returns
    -------
    str
        SVG that says in words what it shows.
    """
    words = f"Scale with reading {target_deg:.1f} degrees marked"
    if present_deg is not None:
        words += f"; it stands at {present_deg:.1f} degrees now"
    parts = [
        f'<svg viewBox="-140 -140 280 280" width="250" role="img" aria-label="{words}" '
        'style="max-width:100%;color:inherit" fill="none" stroke="currentColor">',
        _rim(travel_deg, direction),
        *_ticks(direction),
    ]
    if present_deg is not None:
        parts.append(_hand(present_deg, direction, "stroke-width='2' stroke-dasharray='5 4' opacity='.7'"))
    parts += [_hand(target_deg, direction, "stroke-width='4'"), "<circle r='5' fill='currentColor'/></svg>"]
    return "".join(parts)


def _point(reading_deg: float, radius: float, direction: int) -> tuple[float, float]:
    """Place on the page, y downwards."""
    angle = math.radians(90.0 + direction * reading_deg)
    return radius * math.cos(angle), -radius * math.sin(angle)


def _rim(travel_deg: tuple[float, float], direction: int) -> str:
    low, high = travel_deg
    faint = f'<circle r="{RIM:g}" stroke-width="1" opacity=".35"/>'
    if high - low >= 360.0:
        return f'<circle r="{RIM:g}" stroke-width="2"/>'
    (x1, y1), (x2, y2) = (_point(reading, RIM, direction) for reading in (low, high))
    large, sweep = int(high - low > 180.0), int(direction < 0)
    arc = f"M{x1:.1f} {y1:.1f}A{RIM:g} {RIM:g} 0 {large} {sweep} {x2:.1f} {y2:.1f}"
    return f'{faint}<path d="{arc}" stroke-width="4"/>'


def _ticks(direction: int) -> Iterator[str]:
    for reading in range(0, 360, STEP_DEG):
        labelled = reading % LABEL_EVERY_DEG == 0
        x1, y1 = _point(reading, LONG_TICK if labelled else SHORT_TICK, direction)
        x2, y2 = _point(reading, RIM, direction)
        yield f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'
        if labelled:
            x, y = _point(reading, LABEL, direction)
            yield (
                f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle" font-size="13" fill="currentColor" '
                f'stroke="none">{reading}</text>'
            )


def _hand(reading_deg: float, direction: int, style: str) -> str:
    x, y = _point(reading_deg, SHORT_TICK, direction)
    return f"<line x1='0' y1='0' x2='{x:.1f}' y2='{y:.1f}' {style} stroke-linecap='round'/>"

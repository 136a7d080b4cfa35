"""What each angle serves along the slider, as a small drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from planner.answers.serving import AngleService

__all__ = ["served_svg"]

WIDTH, HEIGHT, EDGE, SAMPLES = 600, 96, 8, 721
WORDS = (
    "What each angle serves, along the slider; the dashed line is the angle looked at, the ring the best one"
)


def served_svg(service: AngleService, low: float, high: float, angle_deg: float) -> str:
    """Return SVG in the colour of the page's text.

    Parameters
    ----------
    service : AngleService
    low, high : float
        Ends of the slider: readings of the device, or position angles; equal for a fixed camera.
    angle_deg : float
        Position angle that is looked at.
    """
    high = high if low < high else low + service.fitting.period_deg
    scale, curve, device = np.linspace(low, high, SAMPLES), service.curve, service.device
    sense, zero = (1, 0.0) if device is None else (device.sense, device.zero_deg)
    angles = (zero + sense * scale) % curve.period_deg
    values = curve.after[np.searchsorted(curve.angles_deg, angles, side="right") - 1]
    top = max(1e-9, float(curve.at.max()), float(curve.after.max()))
    low_value = float(curve.after.min())
    foot = low_value - (top - low_value) / 4 if low_value > top / 2 else 0.0

    def height(value: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.asarray(HEIGHT - EDGE - (value - foot) / max(1e-9, top - foot) * (HEIGHT - 2 * EDGE))

    def places(position_angle_deg: float) -> list[float]:
        begin = low + ((position_angle_deg - zero) * sense - low) % curve.period_deg
        return [(one - low) / (high - low) * WIDTH for one in np.arange(begin, high + 1e-6, curve.period_deg)]

    points = zip((scale - low) / (high - low) * WIDTH, height(values), strict=True)
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    best = service.best[0]
    ring = float(height(best.served))
    return (
        f'<svg viewBox="{-EDGE} 0 {WIDTH + 2 * EDGE} {HEIGHT}" width="100%" height="{HEIGHT}" '
        f'preserveAspectRatio="none" role="img" aria-label="{WORDS}">'
        f'<path d="M0 {HEIGHT - EDGE}L{line}L{WIDTH} {HEIGHT - EDGE}Z" fill="currentColor" fill-opacity=".13"/>'
        f'<path d="M{line}" fill="none" stroke="currentColor" stroke-width="1.3" vector-effect="non-scaling-stroke"/>'
        + "".join(
            f'<path d="M{x:.1f} 0V{HEIGHT}" stroke="currentColor" stroke-width="2" stroke-dasharray="5 3" '
            'vector-effect="non-scaling-stroke"/>'
            for x in places(angle_deg)
        )
        + "".join(
            f'<ellipse cx="{x:.1f}" cy="{ring:.1f}" rx="6" ry="5" fill="none" stroke="currentColor" stroke-width="2" '
            'vector-effect="non-scaling-stroke"/>'
            for x in places(best.angles_deg[0])
        )
        + "</svg>"
    )

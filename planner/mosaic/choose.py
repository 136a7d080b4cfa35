"""The choice of the angle and of the panels where the request leaves them free."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .build import Layout, Progress, lay_out, mosaic_from_centers, orientation_for
from .mosaic import Mosaic
from .region import Region
from .terms import Terms

__all__ = ["allowed_angles", "choose_layout"]


def allowed_angles(layout: Layout, terms: Terms, step_deg: float) -> np.ndarray:
    """Angles to search, degrees: a half turn (a quarter for a square field) or the range asked for."""
    period = 90.0 if terms.field.is_square else 180.0
    if layout.angle_deg is not None:
        return np.array([layout.angle_deg])
    if layout.angle_range_deg is None:
        return np.arange(0.0, period - 1e-9, step_deg)
    start, end = layout.angle_range_deg
    span = min(end - start if end - start >= period else (end - start) % period, period)
    return np.unique(np.append(np.arange(start, start + span, step_deg), start + span)) % 360.0


def choose_layout(
    region: Region, terms: Terms, layout: Layout, *, progress: Progress | None = None
) -> Mosaic:
    """Return the proven mosaic with the fewest panels at the angles and layouts that are allowed."""
    best: Mosaic | None = None
    angles = allowed_angles(layout, terms, 15.0)
    for index, angle in enumerate(angles):
        orientation = orientation_for(region, layout.turns, float(angle))
        centers = lay_out(region, terms, replace(layout, kind="sliding"), orientation)
        if best is None or len(centers) < len(best.panels):
            best = mosaic_from_centers(region, terms, layout, orientation, centers)
        if progress is not None:
            progress("angles", (index + 1) / len(angles))
    assert best is not None
    return best

"""Regions of a few panels for the benchmark of the search, and what it found in them when they were chosen."""

from __future__ import annotations

from typing import Any

import numpy as np

from planner.geometry import plane_to_vector, sky_basis
from planner.mosaic.region import Region

__all__ = ["BEFORE", "blob", "eight_regions", "five_regions", "sky_region"]

CENTER_DEG = (128.0, -20.0)
BEFORE = {
    "circle": (14, 12),
    "ellipse": (15, 13),
    "triangle": (11, 10),
    "hexagon, uneven": (13, 12),
    "L": (10, 10),
    "C": (12, 10),
    "thin diagonal": (6, 6),
    "wavy blob": (10, 10),
    "oval, +43": (13, 11),
    "wedge, -52": (14, 12),
    "hook, +61": (11, 9),
    "band, -69": (15, 10),
    "disc, +78": (13, 10),
}
"""Panels, and what no plan can have fewer than, at usual effort, before the search was made quicker."""


def sky_region(x_deg: Any, y_deg: Any, center_deg: tuple[float, float] = CENTER_DEG) -> Region:
    """Region with these corners in the tangent plane at a centre, degrees there (x east, y north)."""
    plane = np.radians(np.stack([np.asarray(x_deg, float), np.asarray(y_deg, float)], axis=-1))
    return Region.from_vectors(plane_to_vector(plane, sky_basis(*center_deg, 0.0)))


def _turned(x: Any, y: Any, turn_deg: float) -> tuple[Any, Any]:
    turn = np.radians(turn_deg)
    return x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)


def blob(size_deg: float, corners: int, *, wave: float = 0.2, squeeze: float = 0.6) -> Region:
    """A long blob, turned by 33 degrees."""
    t = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    radius = size_deg * (1 + wave * np.sin(3 * t + 1.0))
    return sky_region(*_turned(radius * np.cos(t), squeeze * radius * np.sin(t), 33.0))


def eight_regions() -> dict[str, Region]:
    """Regions of four to sixteen panels, convex and not."""
    t = np.linspace(0, 2 * np.pi, 36, endpoint=False)
    arc = np.radians(np.linspace(40, 320, 25))
    ring = np.concatenate([arc, arc[::-1]])
    c_radius = np.repeat([5.0, 3.2], len(arc))
    return {
        "circle": sky_region(4.0 * np.cos(t), 4.0 * np.sin(t)),
        "ellipse": sky_region(5.0 * np.cos(t) - 2.0 * np.sin(t), 3.0 * np.cos(t) + 2.4 * np.sin(t)),
        "triangle": sky_region([-5.0, 5.5, 0.5], [-3.0, -2.0, 5.0]),
        "hexagon, uneven": sky_region([-4, -1, 4, 5, 1, -3.5], [-2, -4, -2.5, 1.5, 3.8, 2.5]),
        "L": sky_region([-5, 5, 5, -2, -2, -5], [-4, -4, -1.5, -1.5, 4, 4]),
        "C": sky_region(c_radius * np.cos(ring), c_radius * np.sin(ring)),
        "thin diagonal": sky_region([-7.0, -6.0, 7.0, 6.0], [-4.0, -5.2, 4.0, 5.2]),
        "wavy blob": blob(4.6, 40),
    }


def five_regions() -> dict[str, Region]:
    """Regions at declinations from 43 to 78 degrees of both signs, where meridians converge."""
    t = np.linspace(0, 2 * np.pi, 36, endpoint=False)
    long, short = np.array([-6.5, 6.5, 6.5, -6.5]), np.array([-1.9, -1.9, 1.9, 1.9])
    return {
        "oval, +43": sky_region(*_turned(4.6 * np.cos(t), 3.4 * np.sin(t), 25.0), (310.0, 43.0)),
        "wedge, -52": sky_region([-5.0, 4.5, 5.0, -1.0], [-3.5, -4.0, 0.5, 4.5], (160.0, -52.0)),
        "hook, +61": sky_region(
            [-4.5, 4.5, 4.5, 1.5, 1.0, -4.5], [-4.0, -3.5, 4.0, 4.2, -0.8, -1.0], (20.0, 61.0)
        ),
        "band, -69": sky_region(*_turned(long, short, -35.0), (80.0, -69.0)),
        "disc, +78": sky_region(3.9 * np.cos(t), 3.9 * np.sin(t), (200.0, 78.0)),
    }

"""Full pictures: plans of filled pictures beside plans of the same rectangles, the largest rectangle of 100 panels.

The alternative to the largest rectangle is what a general library gives: halving its size, and eroding the panels'
union by shapely each time to see whether one fits.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np
import shapely

from planner.answers.plan import make_plan
from planner.files.plan_file.read import request_from_document
from planner.geometry import footprint_vectors, vector_to_plane
from planner.mosaic.layout.full_rectangle import FilledGround
from planner.mosaic.layout.grid import grid_centers
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from tests.bench.bench_geometry import Row, seconds

from .timing import ratio_row

CAMERA = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
REGIONS = {
    "a disc": {"center": [128.5, -45.8], "radius_deg": 2.4},
    "three parts": {
        "parts": [
            {"center": [318.0, 60.0], "radius_deg": 1.0},
            {"center": [325.0, 57.5], "radius_deg": 1.4},
            {"center": [322.0, 61.5], "radius_deg": 0.5},
        ]
    },
    "a slanted rectangle": {
        "center": [10.0, 20.0],
        "width_deg": 6.0,
        "height_deg": 3.0,
        "position_angle_deg": 33.0,
    },
}
HALVINGS = 17
"""As often the size is halved to come as near as `PRECISION` of the largest rectangle says."""
FIELD = Field(3.53, 2.35)
BOX = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])


def run() -> list[Row]:
    """Return the rows of the table."""
    return [*_filled(), *_largest()]


def _filled() -> list[Row]:
    rows = []
    for name, region in REGIONS.items():
        full = _request(region, {"filled": True, "aspect": [3, 2], "upright": "either"})
        plan = make_plan(full)
        picture = plan.picture
        rectangle = {
            "center": list(picture.center_deg),
            "width_deg": picture.width_deg,
            "height_deg": picture.height_deg,
            "position_angle_deg": picture.position_angle_deg,
        }
        given = _request(rectangle, {}, position_angle_deg=picture.position_angle_deg)
        ours, other = _times(lambda full=full: make_plan(full), lambda given=given: make_plan(given))
        count = len(plan.mosaic.panels)
        same = len(make_plan(given).mosaic.panels)
        note = f"{count} panels; the rectangle by hand: {same}; {ours / other:.2f} times its time"
        rows.append(ratio_row(f"filled picture, {name}, against the same rectangle", ours, other, note))
    return rows


def _largest() -> list[Row]:
    stands = Orientation.square_with(100.0, -45.0, 20.0)
    core = (0.8 * FIELD.half_width, 0.8 * FIELD.half_height)
    rng = np.random.default_rng(1)
    centers = grid_centers(stands, core, 12, 10, (0.0, 0.0))[rng.permutation(120)[:100]]
    corners = footprint_vectors(stands.bases(centers), FIELD.half_width, FIELD.half_height)
    rows = []
    for aspect in (1.5, 1.0):
        found = FilledGround(corners).largest(stands, aspect)
        assert found is not None
        ours = seconds(lambda aspect=aspect: FilledGround(corners).largest(stands, aspect))
        other = seconds(lambda aspect=aspect: _by_erosion(corners, stands, aspect), 1)
        high_deg = _by_erosion(corners, stands, aspect)
        note = f"{found.width_deg:.2f} x {found.height_deg:.2f} degrees; by erosion {high_deg:.2f} high"
        rows.append(ratio_row(f"largest full picture of 100 panels, aspect {aspect}", ours, other, note))
    ours = seconds(lambda: FilledGround(corners).largest(stands))
    rows.append({"name": "largest full picture of 100 panels, any aspect", "ours_s": ours, "note": ""})
    return rows


def _by_erosion(corners: Any, stands: Orientation, aspect: float) -> float:
    """Height, degrees, of the largest rectangle of an aspect in one plane, by halving."""
    middle = corners.sum(axis=(0, 1))
    basis = stands.bases(middle / np.linalg.norm(middle))
    ground = shapely.union_all(shapely.polygons(vector_to_plane(corners, basis)))
    rings = shapely.get_rings(shapely.get_parts(ground))
    ends = [np.stack([xy[:-1], xy[1:]], axis=1) for xy in map(shapely.get_coordinates, rings)]
    low, high = 0.0, 0.5
    for _ in range(HALVINGS):
        half = (low + high) / 2
        swept = (np.concatenate(ends)[:, :, None] + BOX * half * [aspect, 1.0]).reshape(-1, 8, 2)
        hulls = shapely.convex_hull(shapely.linestrings(swept))
        left = shapely.difference(ground, shapely.union_all(hulls))
        low, high = (low, half) if left.is_empty else (half, high)
    return float(2 * np.degrees(np.arctan(low)))


def _request(region: Any, picture: Any, **mosaic: Any) -> Any:
    return request_from_document({"camera": CAMERA, "region": region, "picture": picture, "mosaic": mosaic})


def _times(first: Any, second: Any) -> tuple[float, float]:
    """Shortest times of two works, turn by turn."""
    found: tuple[list[float], list[float]] = ([], [])
    for _ in range(3):
        for times, work in zip(found, (first, second), strict=True):
            started = time.perf_counter()
            work()
            times.append(time.perf_counter() - started)
    return min(found[0]), min(found[1])

"""One frame over several things: the best placement beside fields tried one by one, many shapes, whole commands."""

from __future__ import annotations

import math
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from planner.answers.fit import fit_field, fit_setups
from planner.files.plan_file.read import read_plan_file
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane
from planner.mosaic.fit import Opening, Shape, placement_at, placements_at
from planner.mosaic.panel import Field

from .bench_geometry import process_seconds, row, seconds

Row = dict[str, Any]
FIELD = Field(3.2, 2.14)
PLAN = """
title = "Five"
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[region]
margin_arcmin = 2
parts = [
    { center = [83.0, -5.0], radius_deg = 0.3 },
    { center = [84.3, -5.5], width_deg = 0.6, height_deg = 0.3, position_angle_deg = 30 },
    { center = [83.6, -4.2], radius_deg = 0.15 },
    { center = [84.6, -4.9], width_deg = 0.2, height_deg = 0.5 },
    { outline = [[82.5, -5.9], [82.9, -6.1], [83.2, -5.8], [82.8, -5.6]] },
]
"""


def run() -> list[Row]:
    """Return the rows of the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "five.toml"
        path.write_text(PLAN)
        request = read_plan_file(path)
        answer = seconds(lambda: fit_setups(request))
        rows = [
            {"name": "fit of five parts, with curve, focal length and bound", "ours_s": answer},
            _tried(request_shape(request)),
            _one_angle(),
            _command(path),
            _after_start(path),
        ]
    return rows


def request_shape(request: Any) -> Shape:
    """Return what has to fit."""
    from planner.answers.find_region import find_region

    return Shape.around([find_region(request.region).region.outline_vectors])


def _tried(shape: Shape) -> Row:
    """Everything but the bound, beside every half degree and arc minute within 10 of the middle."""
    ours = seconds(lambda: fit_field(shape, FIELD, prove=False))
    steps = math.radians(0.1 / 60) * np.arange(-100, 101, 10)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    centers = plane_to_vector(grid, shape.basis)
    half = np.array(Opening.margins(FIELD).half)
    ra = np.degrees(np.arctan2(centers[:, 1], centers[:, 0]))
    dec = np.degrees(np.arcsin(centers[:, 2]))

    def some() -> None:
        for angle in np.arange(0.0, 180.0, 0.5):
            xy = np.abs(vector_to_plane(shape.corners, sky_basis(ra, dec, angle)[:, None]))
            (half - xy.max(axis=1)).min(axis=1).max()

    return row("best frame, curve, focal length against steps of 1' and 0.5 deg", ours, seconds(some))


def _one_angle() -> Row:
    """Five hundred shapes at one angle in one sweep, beside one by one."""
    random = np.random.default_rng(1)
    shapes = [
        Shape.around([plane_to_vector(random.uniform(-0.01, 0.01, (12, 2)), sky_basis(ra, dec, 0.0))])
        for ra, dec in zip(random.uniform(0, 360, 500), random.uniform(-60, 60, 500), strict=True)
    ]
    opening = Opening.margins(FIELD)
    ours = seconds(lambda: placements_at(shapes, opening, 0.5))
    other = seconds(lambda: [placement_at(one, opening, 0.5) for one in shapes])
    return row("500 shapes at one angle together against one by one", ours, other)


def _command(path: Path) -> Row:
    """Return the whole command beside the start of the planner."""
    ours = process_seconds([sys.executable, "-m", "planner", "fit", str(path)])
    start = process_seconds([sys.executable, "-m", "planner", "fit", "--help"])
    return row("the fit command of five parts against its help", ours, start)


def _after_start(path: Path) -> Row:
    """Return what the command takes beyond the planner's own start, beside an import of numpy."""
    ours = process_seconds([sys.executable, "-m", "planner", "fit", str(path)])
    start = process_seconds([sys.executable, "-m", "planner", "fit", "--help"])
    numpy = process_seconds([sys.executable, "-c", "import numpy"])
    return row("fit of five parts after the start against import numpy", max(0.0, ours - start), numpy)

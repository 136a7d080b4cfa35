"""Plans made by hand for tests of charts: grids of panels over hard fields."""

import math

import numpy as np

from planner.answers.plan import Plan, StarCounts
from planner.geometry import plane_to_vector, position_angle_deg, sky_basis, vector_to_sky
from planner.mosaic.mosaic import Axes, Mosaic
from planner.mosaic.panel import Field, Panel
from planner.mosaic.region import Region
from planner.request.picture import Picture
from planner.request.request import RegionRequest, Request
from planner.rig.camera import Camera

CAMERA = Camera(380.0, (6000, 4000), 3.9)

# name: centre, width and height of the region, of a panel, position angle
HARD_FIELDS = {
    "one panel": ((161.3, -59.87), (2.2, 1.4), (3.2, 2.14), 10.0),
    "right ascension 0": ((359.9, 12.0), (6.0, 4.0), (3.2, 2.14), 65.0),
    "over the north pole": ((40.0, 89.2), (9.0, 6.0), (3.2, 2.14), 0.0),
    "on the south pole": ((77.0, -90.0), (7.0, 7.0), (3.2, 3.2), 20.0),
    "tiny": ((10.68, 41.27), (0.2, 0.15), (0.12, 0.09), 35.0),
    "wide": ((88.0, 10.0), (40.0, 26.0), (9.0, 6.0), 0.0),
    "tall": ((200.0, -60.0), (1.5, 20.0), (3.0, 2.0), 0.0),
}


def grid_plan(center, size_deg, panel_deg, angle_deg, *, title="Grid", overlap=0.15, **changes):
    """Plan with panels in rows and columns, each square with the picture."""
    field, basis = Field(*panel_deg), sky_basis(*center, angle_deg)
    step = 2 * np.array([field.half_width, field.half_height]) * (1 - overlap)
    half = np.tan(np.radians(size_deg) / 2)
    columns, rows = (int(max(1, math.ceil(2 * h / s - 0.1))) for h, s in zip(half, step, strict=True))
    panels = []
    for row in range(rows):
        for column in range(columns):
            xy = np.array([(columns - 1) / 2 - column, (rows - 1) / 2 - row]) * step
            panels.append(_panel(basis, xy, row, column, len(panels) + 1))
    values = {
        "region": Region.rectangle(center, *size_deg, angle_deg),
        "field": field,
        "panels": tuple(panels),
        "angles": "per_panel",
        "axes": Axes(*center, angle_deg),
        "overlap_asked": overlap,
        "overlap_found": 0.1629,
        "overlap_after_errors_arcmin": None,
        "gap_area_deg2": 0.0,
        "gap_after_errors_deg2": 0.0,
        "panel_count_bound": 1,
    }
    mosaic = Mosaic(**(values | changes))
    picture = Picture(center, size_deg[0] * 0.97, size_deg[1] * 0.97, (angle_deg + 4.0) % 360, (4800, 3200))
    request = Request(title, CAMERA, RegionRequest(center=center, width_deg=1.0, height_deg=1.0))
    return Plan(request, mosaic, picture, StarCounts((), (0,) * len(panels)), ())


def _panel(basis, xy, row, column, order):
    ra, dec = (float(value) for value in vector_to_sky(plane_to_vector(xy, basis)))
    above = vector_to_sky(plane_to_vector(xy + [0.0, 1e-4], basis))
    angle = float(position_angle_deg(ra, dec, *above))
    return Panel(f"{chr(65 + row)}{column + 1}", order, row + 1, column + 1, ra, dec, angle)

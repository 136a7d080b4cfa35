"""A small plan and frames of it, for tests of the review: real geometry, few pixels."""

from functools import cache
from pathlib import Path

import numpy as np
from astropy.io import fits

from planner.answers.plan import make_plan
from planner.night.settings import Filter
from planner.request.request import MosaicRequest, RegionRequest, Request
from planner.rig.camera import Camera

from .solved_file import solved_header

CAMERA = Camera(focal_length_mm=380.0, sensor_px=(60, 40), pixel_um=390.0)
"""Field 3.53 x 2.35 degrees, 211.69 arc seconds a pixel."""
SHORT_ARCMIN = 60 * CAMERA.field.height_deg


@cache
def small_plan(*, center=(129.0, -45.0), filters=("Ha", "OIII"), angle_deg=20.0, exposures=2, **mosaic):
    """Six panels, three columns and two rows, over a rectangle."""
    region = RegionRequest(center=center, width_deg=7.0, height_deg=3.5, position_angle_deg=angle_deg)
    asked = MosaicRequest(position_angle_deg=angle_deg, columns=3, rows=2, layout="grid", **mosaic)
    wanted = tuple(Filter(name, "narrow", 600.0, exposures) for name in filters)
    return make_plan(Request("Shell", CAMERA, region, asked, filters=wanted))


def write_solved(
    path: Path, panel, *, east_arcmin=0.0, north_arcmin=0.0, turn_deg=0.0, scale=1.0, size=(60, 40), **cards
) -> Path:
    """Write a frame that lies on a panel, or as far off as asked. Keys with two underscores get a hyphen."""
    ra_deg = panel.ra_deg + east_arcmin / 60 / np.cos(np.radians(panel.dec_deg))
    header = solved_header(
        center=(ra_deg, panel.dec_deg + north_arcmin / 60),
        position_angle_deg=panel.position_angle_deg + turn_deg,
        scale_arcsec=CAMERA.scale_arcsec_px * scale,
        size=size,
        **{"FILTER": "Ha", "EXPTIME": 600.0, "DATE__OBS": "2027-01-08T20:00:00", **cards},
    )
    path.parent.mkdir(parents=True, exist_ok=True)
    fits.PrimaryHDU(np.zeros(size[::-1], dtype=np.uint16), header).writeto(path)
    return path


def write_all(folder: Path, plan, *, filters=("Ha", "OIII"), count=2, without=()) -> None:
    """Write every exposure that a plan wants, but for some panels."""
    for panel in plan.mosaic.panels:
        for name in filters:
            for number in range(count):
                if panel.name not in without:
                    write_solved(folder / name / f"{panel.name}_{number}.fits", panel, FILTER=name)

"""Rehearsals anywhere on the sky: four panels, and a timetable set by hand, which takes no search."""

import datetime as dt
from functools import cache
from types import SimpleNamespace

from planner.answers.plan import make_plan
from planner.answers.rehearsal.rehearsal import make_rehearsal
from planner.night.settings import Filter, Nights, Site
from planner.night.timetable import Block
from planner.request.request import MosaicRequest, RegionRequest, Request
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera
from planner.rig.mount import Mount

CAMERA = Camera(focal_length_mm=380.0, sensor_px=(6000, 4000), pixel_um=3.9)
FILTERS = (Filter("Ha", "narrow", 600.0, 6), Filter("OIII", "narrow", 300.0, 6))
FIRST = dt.date(2027, 1, 8)
DUSK_S = 1_799_434_800
"""2027-01-08 19:00 UTC."""


@cache
def small_plan(
    place=(129.0, -45.0, 20.0), *, camera=CAMERA, filters=FILTERS, device=True, mount="german", **mosaic
):
    """Four panels in two rows, square with their region, whatever its place."""
    ra_deg, dec_deg, angle_deg = place
    region = RegionRequest(
        center=(ra_deg, dec_deg),
        width_deg=1.75 * camera.field.width_deg,
        height_deg=1.75 * camera.field.height_deg,
        position_angle_deg=angle_deg,
    )
    asked = {
        "angles": "per_panel",
        "position_angle_deg": angle_deg,
        "columns": 2,
        "rows": 2,
        "layout": "grid",
    }
    return make_plan(
        Request(
            "Shell",
            camera,
            region,
            MosaicRequest(**{**asked, **mosaic}),
            filters=filters,
            sites=(Site(-31.2, 22.6, "pier"),),
            nights=Nights(FIRST, FIRST + dt.timedelta(days=20)),
            mount=Mount(mount, 10.0),
            angle_device=AngleDevice("rotator", 112.4) if device else None,
        )
    )


def small_nights(plan, *, evenings=2):
    """A timetable by hand: every evening each panel, half of it looking east, through the filters in turn."""
    request = plan.request
    dates = [
        SimpleNamespace(evening=SimpleNamespace(date=FIRST + dt.timedelta(days=n))) for n in range(evenings)
    ]
    blocks, sides = [], ("east", "west") if request.mount.kind == "german" else (None, None)
    for night in range(evenings):
        start = DUSK_S + 86400 * night
        for panel in range(len(plan.mosaic.panels)):
            chosen = (night + panel) % len(request.filters)
            one = request.filters[chosen]
            end = start + round(one.exposures * one.exposure_s)
            blocks.append(Block(night, panel, chosen, one.exposures, start, end, sides[panel > 1]))
            start = end
    survey = SimpleNamespace(evenings=dates, nights=request.nights, filters=request.filters)
    return SimpleNamespace(plan=plan, survey=survey, timetable=SimpleNamespace(blocks=tuple(blocks)))


def small_rehearsal(plan=None, *, evenings=2, **how):
    """A rehearsal of a small plan."""
    return make_rehearsal(small_nights(plan or small_plan(), evenings=evenings), **how)

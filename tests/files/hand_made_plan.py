"""A small plan made by hand, for tests of what is written."""

from types import SimpleNamespace

from planner.mosaic.mosaic import Mosaic, Seam
from planner.mosaic.panel import Panel
from planner.mosaic.region import Region
from planner.request import MosaicRequest, RegionRequest, Request
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera

CAMERA = Camera(420.0, (6248, 4176), 3.76)


def hand_made_plan(
    *, title="Shell", device=None, after_errors=None, panels=None, gap=0.0, found=0.1612345678999
):
    region = RegionRequest(center=(359.9, 40.0), width_deg=4.0, height_deg=1.5)
    request = Request(title, CAMERA, region, MosaicRequest(), angle_device=device)
    panels = panels or (
        Panel("A1", 1, 1, 1, 1.25, 40.0, 20.0),
        Panel("A2", 2, 1, 2, 359.99999999999, 39.5, 380.0 - 360.0),
    )
    mosaic = Mosaic(
        Region.rectangle((359.9, 40.0), 4.0, 1.5),
        CAMERA.field,
        panels,
        "common",
        None,
        0.15,
        found,
        after_errors,
        gap,
        0.0,
        2,
        (Seam(0, 1, 14.25),),
    )
    return SimpleNamespace(
        request=request,
        mosaic=mosaic,
        picture=SimpleNamespace(
            center_deg=(359.9, 40.0),
            width_deg=4.0,
            height_deg=2.0,
            position_angle_deg=20.0,
            pixels=(100, 50),
        ),
        star_counts=SimpleNamespace(panels=(7, 7), seams=(7,)),
        notes=("one note",),
    )


ADJUSTER = AngleDevice("adjuster", zero_deg=112.4)

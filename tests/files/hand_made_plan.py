"""A small plan made by hand, for tests of what is written."""

from dataclasses import replace

from planner.answers.plan import Plan, StarCounts
from planner.mosaic.mosaic import Mosaic, Seam
from planner.mosaic.panel import Panel
from planner.mosaic.region import Region
from planner.request.picture import Picture
from planner.request.request import MosaicRequest, RegionRequest, Request
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera

CAMERA = Camera(380.0, (6000, 4000), 3.9)
ADJUSTER = AngleDevice("adjuster", zero_deg=112.4)
REGION = Region.rectangle((359.9, 40.0), 4.0, 1.5)
PANELS = (Panel("A1", 1, 1, 1, 1.25, 40.0, 20.0), Panel("A2", 2, 1, 2, 359.99999999999, 39.5, 20.0))


def hand_made_plan(*, title="Shell", device=None, **changes):
    """Two panels; `changes` are values of the mosaic."""
    wanted = RegionRequest(center=(359.9, 40.0), width_deg=4.0, height_deg=1.5)
    request = Request(title, CAMERA, wanted, MosaicRequest(), angle_device=device)
    mosaic = Mosaic(
        region=REGION,
        field=CAMERA.field,
        panels=PANELS,
        angles=1,
        axes=None,
        overlap_asked=0.15,
        overlap_found=0.1612345678999,
        overlap_after_errors_arcmin=None,
        gap_area_deg2=0.0,
        gap_after_errors_deg2=0.0,
        panel_count_bound=2,
        seams=(Seam(0, 1, 14.25, REGION.outline_vectors),),
    )
    mosaic = replace(mosaic, **changes)
    picture = Picture((359.9, 40.0), 4.0, 2.0, 20.0, (100, 50))
    counts = StarCounts(tuple(7 for _ in mosaic.seams), tuple(7 for _ in mosaic.panels))
    return Plan(request, mosaic, picture, counts, ("one note",))

"""Plans made by hand, with everything that a hand-over can show."""

import datetime as dt
from functools import cache

from planner.answers.plan import Plan, StarCounts
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel
from planner.mosaic.region import Region
from planner.night.settings import Filter, Nights, Site
from planner.request.picture import Picture
from planner.request.request import MosaicRequest, RegionRequest, Request
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera

CAMERA = Camera(380.0, (6000, 4000), 3.9, 80.0)
FILTERS = (Filter("Hα", "narrow", 600.0, 18), Filter("L, clear", "broad", 60.5, 50))
ADJUSTER = AngleDevice("adjuster", zero_deg=112.4)
SITE = Site(-31.2, 22.6, "Karoo 'pier' 1")
NIGHTS = Nights(dt.date(2027, 1, 8), dt.date(2027, 1, 9))
HARD_CENTERS = [
    (0.0, 0.0),
    (359.99999999999994, 40.0),
    (128.5, -45.8),
    (83.2, 89.6),
    (200.0, 90.0),
    (31.0, -90.0),
]
"""Poles and right ascension 0 h."""
TITLE = 'Vela "shell", Ω & <dust>'


@cache
def mosaic_of(field, panels, gap):
    """The same one for the same panels, of which the planner remembers what angle errors it forgives."""
    region = Region.circle((128.5, -45.8), 1.0)
    return Mosaic(region, field, panels, 1, None, 0.15, 0.16, None, gap, 0.0, 2)


def handover_plan(
    panels=None,
    *,
    title=TITLE,
    camera=CAMERA,
    filters=FILTERS,
    device=ADJUSTER,
    nights=None,
    sites=(SITE,),
    tables=(),
    gap=0.0,
    listed=(),
):
    panels = tuple(
        panels or (Panel("A1", 1, 1, 1, 128.0, -45.0, 20.0), Panel("B1", 2, 2, 1, 129.5, -46.9, 21.25))
    )
    request = Request(
        title,
        camera,
        RegionRequest(center=(128.5, -45.8), radius_deg=1.0),
        MosaicRequest(),
        angle_device=device,
        sites=sites,
        nights=nights,
        filters=filters,
        tables=tuple(tables),
        panels=tuple(listed),
    )
    mosaic = mosaic_of(camera.field, panels, gap)
    picture = Picture((128.5, -45.8), 4.0, 2.5, 20.0, (7800, 4900))
    return Plan(request, mosaic, picture, StarCounts((), (7,) * len(panels)), ())


def panels_at(centers, angles=(0.0, 37.5, 123.456789, 200.0, 270.0, 359.99999)):
    """Panels with centres and angles, named in shooting order."""
    turned = zip(centers, angles, strict=False)
    return tuple(Panel(f"A{n}", n, 1, n, *center, angle) for n, (center, angle) in enumerate(turned, start=1))


def many_panels(rows, columns):
    """Panels in a grid about 8 h 30 m, -45 degrees, turned a little against each other."""
    return tuple(
        Panel(
            f"R{r}C{c}",
            (r - 1) * columns + c,
            r,
            c,
            (128 + 3 * c) % 360.0,
            -45 + 0.5 * r,
            (20 + 0.01 * c) % 360,
        )
        for r in range(1, rows + 1)
        for c in range(1, columns + 1)
    )

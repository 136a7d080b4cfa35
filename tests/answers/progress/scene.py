"""A small plan with site and season, and frames of it as its timetable has them."""

import datetime as dt
from dataclasses import replace
from functools import cache
from zoneinfo import ZoneInfo

from planner.answers.nights import plan_nights
from planner.frames.review.review import review_folder
from planner.night.settings import Filter, Nights, Site
from planner.rig.angle_device import AngleDevice
from planner.rig.mount import Mount
from tests.frames.small_plan import small_plan, write_solved

SOUTH = Site(
    -31.2,
    22.6,
    "Karoo pier",
    time_zone="Africa/Johannesburg",
    currency="ZAR",
    hour_price=((0.0, 880.0), (0.3, 540.0)),
)
NORTH = Site(
    28.8, -17.9, "Canary pier", time_zone="Atlantic/Canary", currency="EUR", hour_price=((0.0, 50.0),)
)
NIGHTS = Nights(
    dt.date(2027, 1, 8),
    dt.date(2027, 1, 20),
    clear_fraction=0.7,
    overhead_per_panel_min=6.0,
    overhead_per_exposure_s=8.0,
)
FILTERS = (Filter("Ha", "narrow", 600.0, 4), Filter("L", "broad", 300.0, 4))
CENTERS = {SOUTH: (129.0, -45.0), NORTH: (129.0, 45.0)}
"""Fields that stand high at midnight in January, each at its own site."""


@cache
def plan_at(site=SOUTH, *, nights=NIGHTS, filters=FILTERS, sites=None, **more):
    """Six panels over a rectangle, with a site, a season and filters; nothing is searched."""
    plan = small_plan(center=CENTERS[site], filters=())
    request = replace(
        plan.request,
        filters=filters,
        nights=nights,
        sites=(site,) if sites is None else sites,
        angle_device=AngleDevice("adjuster"),
        mount=Mount("german", flip_after_transit_min=10.0),
        **more,
    )
    return replace(plan, request=request)


@cache
def whole_season(plan):
    return plan_nights(plan)


def utc(time_s):
    return dt.datetime.fromtimestamp(time_s, tz=dt.UTC).strftime("%Y-%m-%dT%H:%M:%S")


def evening_text(nights, block):
    return nights.survey.evenings[block.night].evening.date.isoformat()


def shoot(folder, plan, *, evenings=None, nights=None, keep=lambda number: True, stretch=1.0, **cards):
    """Write the frames of a timetable, or of its first evenings; returns what was written.

    Exposures follow each other at once, or stretched as clouds stretch them.
    Each entry: evening, panel, filter, exposure in seconds, in the order of time.
    """
    nights = nights or whole_season(plan)
    survey = nights.survey
    worked = sorted({evening_text(nights, block) for block in nights.timetable.blocks})
    taken, number = [], -1
    for block in nights.timetable.blocks:
        if evenings is not None and evening_text(nights, block) not in worked[:evenings]:
            continue
        chosen, panel = survey.filters[block.chosen], plan.mosaic.panels[block.panel]
        start_s = block.start_s + 60.0 * survey.nights.overhead_per_panel_min
        for one in range(block.exposures):
            number += 1
            if not keep(number):
                continue
            write_solved(
                folder / evening_text(nights, block) / f"{number:04d}_{panel.name}_{chosen.name}.fits",
                panel,
                turn_deg=180.0 if block.looking == "east" else 0.0,
                **{
                    "FILTER": chosen.name,
                    "EXPTIME": chosen.exposure_s,
                    "DATE__OBS": utc(
                        start_s + one * stretch * (chosen.exposure_s + survey.nights.overhead_per_exposure_s)
                    ),
                    **cards,
                },
            )
            taken.append((evening_text(nights, block), panel.name, chosen.name, chosen.exposure_s))
    return taken


def reviewed(plan, folder):
    folder.mkdir(exist_ok=True)
    return review_folder(plan.request, plan.mosaic, folder)


def local(site, *when):
    return dt.datetime(*when, tzinfo=ZoneInfo(site.time_zone))

"""Seasons small enough to be checked by every means."""

import datetime as dt
from dataclasses import replace

import numpy as np

from planner.night.settings import Filter, Nights, Site
from planner.night.survey import Targets

KAROO = Site(
    -31.2,
    22.6,
    "Karoo pier",
    1750,
    "Africa/Johannesburg",
    30,
    ((0, 12), (90, 25), (180, 10), (270, 15)),
    "ZAR",
    ((0.0, 880.0), (0.55, 540.0)),
)
CANARY = Site(28.1, -17.25, "Canary pier", 2100, "Atlantic/Canary", 25, (), "ZAR", ((0.0, 500.0),))
NIGHTS = Nights(
    dt.date(2027, 1, 14),
    dt.date(2027, 1, 27),
    clear_fraction=0.7,
    overhead_per_panel_min=6,
    overhead_per_exposure_s=8,
)
FILTERS = (
    Filter("Ha", "narrow", 600, 12),
    Filter("OIII", "narrow", 300, 16, moon_separation_deg=50, moon_illumination=0.8),
    Filter("L", "broad", 120, 40),
)
PLACES = {"A1": (126.0, -44.0), "A2": (123.0, -44.0), "B1": (126.1, -46.2), "B2": (122.9, -46.2)}


def targets(places=PLACES):
    ra, dec = np.array(list(places.values()), dtype=float).T
    return Targets(tuple(places), ra, dec, 2.2)


def nights(**changes):
    return replace(NIGHTS, **changes)

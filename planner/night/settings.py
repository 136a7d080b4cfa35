"""Site, nights and filters, as values."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

__all__ = ["Filter", "Nights", "Site"]


@dataclass(frozen=True)
class Site:
    """Where the telescope stands, what it can see and what an hour costs there."""

    latitude_deg: float
    longitude_deg: float
    name: str = "site"
    elevation_m: float = 0.0
    time_zone: str = "UTC"
    lowest_altitude_deg: float = 30.0
    horizon_deg: tuple[tuple[float, float], ...] = ()
    currency: str = ""
    hour_price: tuple[tuple[float, float], ...] = ()
    seeing_arcsec: float | None = None


@dataclass(frozen=True)
class Nights:
    """The season: evenings, darkness, losses and overheads."""

    first: dt.date
    last: dt.date
    darkness: Literal["civil", "nautical", "astronomical"] = "astronomical"
    clear_fraction: float = 1.0
    overhead_per_panel_min: float = 0.0
    overhead_per_exposure_s: float = 0.0


@dataclass(frozen=True)
class Filter:
    """One filter: what every panel gets through it, and its optional limits on the moon."""

    name: str
    band: Literal["narrow", "broad"]
    exposure_s: float
    exposures: int
    moon_separation_deg: float | None = None
    moon_illumination: float | None = None

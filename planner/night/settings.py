"""Site, nights and filters, as values: the tables `[site]`, `[nights]` and `[[filters]]` of a plan file."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from dataclasses import dataclass
from typing import Literal

from planner.checks import check_positive, check_within, require
from planner.errors import InputError, nearest_names

__all__ = ["DARKNESS_DEG", "LEAST_BLOCK_MIN", "Filter", "Nights", "Site"]

DARKNESS_DEG = {"civil": -6.0, "nautical": -12.0, "astronomical": -18.0}
"""Greatest altitude of the Sun's centre, geometric, by kind of darkness (USNO, Rise, Set, and Twilight
Definitions)."""

LEAST_BLOCK_MIN = 20.0
"""Least exposure time of one block by default: common practice, no source."""

MOST_EVENINGS = 1100
YEARS = (1900, 2100)
"""Years for which the ephemerides hold: those of `erfa.epv00`."""


@dataclass(frozen=True)
class Site:
    """Where the telescope stands, what it can see and what an hour costs there.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        Geodetic (WGS84), north and east positive.
    name : str
    elevation_m : float
        Above the ellipsoid; it moves the Moon by arc seconds only.
    time_zone : str
        Name in the IANA time zone database.
    lowest_altitude_deg : float
        Geometric altitude below which nothing is shot.
    horizon_deg : tuple of (float, float)
        (azimuth, altitude) points, azimuth from north through east, joined by straight lines and closed over
        north; kept sorted by azimuth.
    currency : str
    hour_price : tuple of (float, float)
        (moon illumination from which on, price of an hour), sorted, the first from 0; empty: free of charge.
    seeing_arcsec : float, optional
        Usual width of a star's image, for the detail that a print can show.

    Raises
    ------
    InputError
        If a value is out of range.
    """

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

    def __post_init__(self) -> None:
        degrees = "give degrees"
        check_within("site.latitude_deg", self.latitude_deg, -90, 90, f"{degrees}, north positive")
        check_within("site.longitude_deg", self.longitude_deg, -180, 360, f"{degrees}, east positive")
        check_within("site.elevation_m", self.elevation_m, -500, 9000, "give metres")
        check_within("site.lowest_altitude_deg", self.lowest_altitude_deg, 0, 89, degrees)
        require(bool(self.name.strip()), "site.name must not be empty; give each site a name")
        _check_zone(self.time_zone)
        object.__setattr__(self, "horizon_deg", _sorted_horizon(self.horizon_deg))
        _check_prices(self.hour_price)
        check_positive("site.seeing_arcsec", self.seeing_arcsec, 60, "give arc seconds")

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The site's time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)


@dataclass(frozen=True)
class Nights:
    """The season: evenings, darkness, losses and overheads.

    Parameters
    ----------
    first, last : datetime.date
        Evenings, site time, both included; an evening runs from noon to noon.
    darkness : {'civil', 'nautical', 'astronomical'}
        The Sun's centre at least 6, 12 or 18 degrees below the geometric horizon.
    clear_fraction : float
        Expected part of the time without cloud, in (0, 1]; an exposure with its overhead is expected to take
        1 / clear_fraction times as long.
    overhead_per_panel_min : float
        Spent at the start of every block: pointing, centring, focusing.
    overhead_per_exposure_s : float
        Read-out and dither.
    least_block_min : float
        Least exposure time of a block, unless its panel and filter want less in all.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    first: dt.date
    last: dt.date
    darkness: Literal["civil", "nautical", "astronomical"] = "astronomical"
    clear_fraction: float = 1.0
    overhead_per_panel_min: float = 0.0
    overhead_per_exposure_s: float = 0.0
    least_block_min: float = LEAST_BLOCK_MIN

    def __post_init__(self) -> None:
        _check_dates(self.first, self.last)
        require(
            self.darkness in DARKNESS_DEG,
            f"nights.darkness must be one of {', '.join(DARKNESS_DEG)}, got {self.darkness!r}"
            + nearest_names(str(self.darkness), DARKNESS_DEG),
        )
        check_within("nights.clear_fraction", self.clear_fraction, 0.01, 1, "give a fraction, not per cent")
        check_within("nights.overhead_per_panel_min", self.overhead_per_panel_min, 0, 600, "give minutes")
        check_within("nights.overhead_per_exposure_s", self.overhead_per_exposure_s, 0, 3600, "give seconds")
        check_within("nights.least_block_min", self.least_block_min, 0, 600, "give minutes")

    @property
    def sun_limit_deg(self) -> float:
        """Greatest altitude of the Sun's centre in the dark, degrees."""
        return DARKNESS_DEG[self.darkness]

    @property
    def evenings(self) -> tuple[dt.date, ...]:
        """Every evening of the season."""
        count = (self.last - self.first).days + 1
        return tuple(self.first + dt.timedelta(days=day) for day in range(count))


@dataclass(frozen=True)
class Filter:
    """One filter: what every panel gets through it, and its optional limits on the moon.

    Parameters
    ----------
    name : str
    band : {'narrow', 'broad'}
    exposure_s : float
        Seconds of one exposure.
    exposures : int
        For every panel.
    moon_separation_deg : float, optional
        While the moon is up it must be at least this far from the panel's centre.
    moon_illumination : float, optional
        While the moon is up its illumination must not exceed this fraction.
    width_nm : float, optional
        Of a narrow band: full width at half maximum, nanometres, in [0.1, 88].

    Raises
    ------
    InputError
        If a value is out of range.
    """

    name: str
    band: Literal["narrow", "broad"]
    exposure_s: float
    exposures: int
    moon_separation_deg: float | None = None
    moon_illumination: float | None = None
    width_nm: float | None = None

    def __post_init__(self) -> None:
        require(bool(self.name.strip()), "a filter's name must not be empty; name it")
        where = f"filter {self.name!r}:"
        require(
            self.band in ("narrow", "broad"), f"{where} band must be 'narrow' or 'broad', got {self.band!r}"
        )
        require(
            0.0 < self.exposure_s <= 86400.0,
            f"{where} exposure_s must be above 0 and at most 86400, got {self.exposure_s:g}; give seconds",
        )
        require(
            1 <= self.exposures <= 100_000,
            f"{where} exposures must be in [1, 100000], got {self.exposures}; leave the filter out if unused",
        )
        check_within(f"{where} moon_separation_deg", self.moon_separation_deg, 0, 180, "give degrees")
        check_within(f"{where} moon_illumination", self.moon_illumination, 0, 1, "give a fraction")
        check_within(f"{where} width_nm", self.width_nm, 0.1, 88, "give nanometres")
        require(
            self.width_nm is None or self.band == "narrow",
            f"{where} width_nm belongs to a narrow band, got {self.width_nm} beside band 'broad'; leave it out",
        )


def _check_zone(name: str) -> None:
    try:
        zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        hint = nearest_names(name, zoneinfo.available_timezones()) or "; give a name such as 'Europe/Madrid'"
        raise InputError(
            f"site.time_zone must be a name of the IANA time zone database, got {name!r}{hint}"
        ) from None


def _sorted_horizon(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    for point in points:
        require(len(point) == 2, f"site.horizon_deg wants [azimuth, altitude] pairs, got {list(point)}")
        check_within("site.horizon_deg: an azimuth", point[0], 0, 360, "give degrees from north to east")
        check_within("site.horizon_deg: an altitude", point[1], -10, 90, "give degrees above level")
    turned = sorted({(azimuth % 360.0, altitude) for azimuth, altitude in points})
    doubled = [a for (a, _), (b, _) in zip(turned, turned[1:], strict=False) if a == b]
    require(
        not doubled,
        f"site.horizon_deg has two altitudes at azimuth {doubled[0] if doubled else 0:g}; "
        "give one, or two azimuths a little apart",
    )
    return tuple(turned)


def _check_prices(prices: tuple[tuple[float, float], ...]) -> None:
    for entry in prices:
        require(len(entry) == 2, f"site.hour_price wants [moon illumination, price] pairs, got {list(entry)}")
        check_within("site.hour_price: a moon illumination", entry[0], 0, 1, "give a fraction")
        check_within("site.hour_price: a price", entry[1], 0, 1e9, "give the price of an hour")
    starts = [start for start, _ in prices]
    require(
        all(a < b for a, b in zip(starts, starts[1:], strict=False)),
        f"site.hour_price must be sorted by rising moon illumination, got {starts}; sort the pairs",
    )
    require(
        not starts or starts[0] == 0.0,
        f"site.hour_price must begin at moon illumination 0, got {starts[:1]}; add [0.0, price]",
    )


def _check_dates(first: dt.date, last: dt.date) -> None:
    require(
        first <= last, f"nights.first must not be after nights.last, got {first} and {last}; exchange them"
    )
    for name, date in (("first", first), ("last", last)):
        require(
            YEARS[0] < date.year < YEARS[1],
            f"nights.{name} must lie between {YEARS[0]} and {YEARS[1]}, got {date}; give another year",
        )
    count = (last - first).days + 1
    require(
        count <= MOST_EVENINGS,
        f"nights may span {MOST_EVENINGS} evenings, got {count}; plan one season at a time",
    )

"""Skyfield with the ephemeris DE421 as an independent route: altitudes, separations, crossings."""

import datetime as dt
import warnings
from functools import cache, lru_cache
from pathlib import Path

import numpy as np
from skyfield.api import Star, load, wgs84
from skyfield.jpllib import SpiceKernel


@cache
def ephemeris():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package tells that another of its files is old
        from skyfield_data import get_skyfield_data_path

        return SpiceKernel(str(Path(get_skyfield_data_path()) / "de421.bsp"))


@cache
def timescale():
    return load.timescale(builtin=True)


def instants(time_s):
    """Instants of POSIX seconds; no leap second lies between the first and the others."""
    time = np.atleast_1d(np.asarray(time_s, dtype=float))
    day = dt.datetime.fromtimestamp(time[0], tz=dt.UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    return timescale().utc(day.year, day.month, day.day, 0, 0, time - day.timestamp())


def observe(site, target, time_s):
    """Apparent position seen from a site; `target` is a body's name or (ra, dec) in ICRS degrees."""
    where = site.latitude_deg, site.longitude_deg, site.elevation_m
    return _observed(where, target, tuple(np.atleast_1d(np.asarray(time_s, dtype=float)).tolist()))


@lru_cache(maxsize=64)
def _observed(where, target, time_s):
    """Rules ask for the same body at the same instants one after the other: each is looked for once."""
    latitude_deg, longitude_deg, elevation_m = where
    place = wgs84.latlon(latitude_deg, longitude_deg, elevation_m=elevation_m)
    bodies = ephemeris()
    body = (
        bodies[target] if isinstance(target, str) else Star(ra_hours=target[0] / 15.0, dec_degrees=target[1])
    )
    return (bodies["earth"] + place).at(instants(time_s)).observe(body).apparent()


def altitude_azimuth(site, target, time_s):
    """Geometric altitude and azimuth, degrees."""
    altitude, azimuth, _ = observe(site, target, time_s).altaz()
    return altitude.degrees, azimuth.degrees


def spans_above(margin, start_s, end_s, step_s=180.0):
    """Spans with margin(time) >= 0, edges by bisection to a hundredth of a second."""
    time = np.append(np.arange(start_s, end_s, step_s), end_s)
    inside = margin(time) >= 0.0
    changes = np.flatnonzero(inside[1:] != inside[:-1])
    low, high, rising = time[changes], time[changes + 1], inside[changes + 1]
    for _ in range(13 if len(changes) else 0):
        middle = (low + high) / 2.0
        reached = (margin(middle) >= 0.0) == rising
        low, high = np.where(reached, low, middle), np.where(reached, middle, high)
    edges = [*([start_s] if inside[0] else []), *((low + high) / 2.0), *([end_s] if inside[-1] else [])]
    return list(zip(edges[::2], edges[1::2], strict=True))

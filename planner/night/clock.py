"""Time: UTC as POSIX seconds, and from it the scales that ephemerides and the turning Earth want.

An instant is a float of POSIX seconds (UTC, leap seconds not counted), arrays of any shape. Leap seconds come
from pyerfa's table; UT1 - UTC from the table of the International Earth Rotation Service (Bulletin A) that
astropy-iers-data ships, where it has the day, else 0 (then an altitude is off by at most 0.9 s of time).
"""

from __future__ import annotations

import datetime as dt
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["DAY_S", "earth_rotation_rad", "noon_s", "tt_days", "utc_text"]

DAY_S = 86400.0
POSIX_JD = 2440587.5
"""Julian date of 1970-01-01 00:00 UTC."""
TT_LESS_TAI_S = 32.184
IERS_COLUMNS = (slice(7, 15), slice(58, 68))
"""Modified Julian date and UT1 - UTC in a line of the file finals2000A (readme.finals2000A)."""

Times = NDArray[np.float64]


def noon_s(date: dt.date, zone: dt.tzinfo) -> float:
    """Instant of noon on a date in a zone."""
    return dt.datetime(date.year, date.month, date.day, 12, tzinfo=zone).timestamp()


def utc_text(time_s: float) -> str:
    """ISO 8601 with `Z`, whole seconds.

    >>> utc_text(0)
    '1970-01-01T00:00:00Z'
    """
    return dt.datetime.fromtimestamp(round(time_s), tz=dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def tt_days(time_s: ArrayLike) -> Times:
    """Terrestrial time, days since the Julian date 2440587.5 (add it as the first part of a date)."""
    time = np.asarray(time_s, dtype=float)
    starts, tai_less_utc = _leap_seconds()
    leap = tai_less_utc[np.clip(np.searchsorted(starts, time, side="right") - 1, 0, None)]
    return np.asarray((time + leap + TT_LESS_TAI_S) / DAY_S)


def earth_rotation_rad(time_s: ArrayLike) -> Times:
    """Earth rotation angle, radians (IAU 2000; Capitaine et al. 2000, by `erfa.era00`)."""
    import erfa

    time = np.asarray(time_s, dtype=float)
    return np.asarray(erfa.era00(POSIX_JD, (time + _ut1_less_utc_s(time)) / DAY_S))


@cache
def _leap_seconds() -> tuple[Times, Times]:
    import erfa

    table = erfa.leap_seconds.get()
    starts = [dt.datetime(int(row["year"]), int(row["month"]), 1, tzinfo=dt.UTC).timestamp() for row in table]
    return np.array(starts), np.asarray(table["tai_utc"], dtype=float)


def _ut1_less_utc_s(time_s: Times) -> Times:
    days, values = _ut1_table()
    if not len(days):
        return np.zeros_like(time_s)
    found = np.interp(time_s / DAY_S + POSIX_JD - 2400000.5, days, values, left=0.0, right=0.0)
    return np.asarray(found)


@cache
def _ut1_table() -> tuple[Times, Times]:
    """Days (MJD) and UT1 - UTC in seconds; empty where the package is missing.

    Between the days on either side of a leap second the line would run over a whole second, so the day before
    is given twice.
    """
    try:
        from astropy_iers_data import IERS_A_FILE  # type: ignore[import-untyped]
    except ImportError:
        return np.empty(0), np.empty(0)
    with open(IERS_A_FILE, encoding="ascii") as stream:
        fields = [[line[part] for part in IERS_COLUMNS] for line in stream if line[IERS_COLUMNS[1]].strip()]
    days, values = np.array(fields, dtype=float).T
    jump = np.flatnonzero(np.abs(np.diff(values)) > 0.5) + 1
    return np.insert(days, jump, days[jump] - 1e-6), np.insert(values, jump, values[jump] - 1.0)

"""Pointings: centres and angles made elsewhere, to be proven as a mosaic."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from planner.errors import FileError

__all__ = ["MOST_POINTINGS", "Pointing", "Pointings"]

MOST_POINTINGS = 20_000


@dataclass(frozen=True)
class Pointing:
    """One centre and angle.

    Parameters
    ----------
    name : str
        Empty where the table has none.
    ra_deg, dec_deg : float
        ICRS degrees, right ascension in [0, 360).
    position_angle_deg : float
        Degrees east of north, [0, 360).
    order : float, optional
        Place in the shooting order, where the table states it.
    """

    name: str
    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    order: float | None = None


@dataclass(frozen=True)
class Pointings:
    """All different pointings of a table, in its shooting order or else in the order of its rows.

    Parameters
    ----------
    names : tuple of str
        Empty texts where the table has no names.
    sky_deg : tuple of (float, float, float)
        Right ascension, declination, position angle.
    """

    names: tuple[str, ...]
    sky_deg: tuple[tuple[float, float, float], ...]

    @classmethod
    def from_rows(cls, rows: Iterable[tuple[str, Pointing]], source: str) -> Pointings:
        """Gather the rows of a table; a pointing that repeats, as for the next filter, counts once.

        Parameters
        ----------
        rows : iterable of (str, Pointing)
            Where each row stands, for messages, and what it says.
        source : str
            Name of the file.

        Raises
        ------
        FileError
            If a value is out of range, or there are no rows or too many.
        """
        found: dict[Pointing, None] = {}
        for place, pointing in rows:
            found[_checked(pointing, f"{source}, {place}")] = None
            if len(found) > MOST_POINTINGS:
                raise FileError(f"{source} has more than {MOST_POINTINGS} pointings; split it")
        if not found:
            raise FileError(f"{source} has no rows with pointings; give one centre and angle a row")
        ordered = list(found)
        if all(one.order is not None for one in ordered):
            ordered.sort(key=lambda one: one.order or 0.0)
        return cls(
            tuple(one.name for one in ordered),
            tuple((one.ra_deg, one.dec_deg, one.position_angle_deg) for one in ordered),
        )


def _checked(pointing: Pointing, place: str) -> Pointing:
    values = (pointing.ra_deg, pointing.dec_deg, pointing.position_angle_deg)
    if not all(math.isfinite(value) for value in values):
        raise FileError(
            f"{place}: a value is missing or no number; give right ascension, declination and angle"
        )
    if not (-360 <= pointing.ra_deg <= 720 and abs(pointing.position_angle_deg) <= 720):
        raise FileError(
            f"{place}: an angle is more than two turns, got {max(values, key=abs):g} degrees; mend it"
        )
    if abs(pointing.dec_deg) > 90 + 1e-9:
        raise FileError(
            f"{place}: declination must be in [-90, 90], got {pointing.dec_deg:g}; "
            "right ascension comes first, then declination"
        )
    dec_deg = min(90.0, max(-90.0, pointing.dec_deg))
    return replace(
        pointing,
        ra_deg=pointing.ra_deg % 360.0,
        dec_deg=dec_deg,
        position_angle_deg=pointing.position_angle_deg % 360.0,
    )

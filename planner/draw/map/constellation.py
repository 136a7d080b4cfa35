"""In which constellation a place lies."""

from __future__ import annotations

from functools import cache

__all__ = ["constellation_of"]


@cache
def constellation_of(ra_deg: float, dec_deg: float) -> str:
    """Return the Latin name of the constellation at an ICRS position, degrees.

    Boundaries: Roman 1987, PASP 99, 695, by astropy.

    >>> constellation_of(83.82, -5.39)
    'Orion'
    """
    from astropy.coordinates import SkyCoord

    return str(SkyCoord(ra_deg, dec_deg, unit="deg").get_constellation())

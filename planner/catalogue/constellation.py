"""In which constellation a place lies, and what a constellation's name or abbreviation means."""

from __future__ import annotations

import unicodedata
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError, nearest_names

__all__ = ["constellation_named", "constellation_of", "constellations_of"]

STEP_DEG = 1.0
"""No constellation is so small that places so far apart miss it."""


@cache
def constellation_of(ra_deg: float, dec_deg: float) -> str:
    """Return the Latin name of the constellation at an ICRS position, degrees.

    Boundaries: Roman 1987, PASP 99, 695, by astropy.

    >>> constellation_of(83.82, -5.39)
    'Orion'
    """
    return str(constellations_of([ra_deg], [dec_deg])[0])


def constellations_of(ra_deg: ArrayLike, dec_deg: ArrayLike) -> NDArray[np.str_]:
    """Return the Latin names of the constellations at ICRS positions, degrees, shape (N,)."""
    from astropy.coordinates import SkyCoord

    return np.asarray(SkyCoord(ra_deg, dec_deg, unit="deg").get_constellation())


def constellation_named(text: str) -> str:
    """Return the Latin name that a name, or an abbreviation of three letters (IAU), means.

    Raises
    ------
    InputError
        If no constellation is called so.

    >>> constellation_named("cyg"), constellation_named("ara")
    ('Cygnus', 'Ara')
    """
    known = _names()
    found = known.get(_plain(text))
    if found is None:
        hint = nearest_names(text, sorted(set(known.values()))) or "; give a Latin name or three letters"
        raise InputError(f"there is no constellation {text!r}{hint}")
    return found


@cache
def _names() -> dict[str, str]:
    """Names and abbreviations, in small plain letters, to Latin names."""
    from astropy.coordinates import SkyCoord

    ra, dec = np.meshgrid(np.arange(0.0, 360.0, STEP_DEG), np.arange(-89.5, 90.0, STEP_DEG))
    places = SkyCoord(ra.ravel(), dec.ravel(), unit="deg")
    pairs = set(
        zip(
            map(str, places.get_constellation()),
            map(str, places.get_constellation(short_name=True)),
            strict=True,
        )
    )
    return {_plain(name): name for name, _ in pairs} | {_plain(short): name for name, short in pairs}


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.strip())
    return " ".join("".join(sign for sign in letters if not unicodedata.combining(sign)).casefold().split())

"""Coordinate systems that frames are solved in, and the rotation from each to ICRS.

Source: Calabretta & Greisen 2002, A&A 395, 1077, section 3.1 (RADESYS, EQUINOX and their defaults).
"""

from __future__ import annotations

from functools import lru_cache

from .cards import ImageHeader

__all__ = ["Matrix", "equatorial_system", "rotation_to_icrs", "system_name"]

Matrix = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]


def equatorial_system(header: ImageHeader) -> tuple[str, float | None]:
    """Name of the system of right ascension and declination, and its equinox.

    Without RADESYS an equinox before 1984 means FK4, a later one FK5, none at all ICRS. RADECSYS and EPOCH,
    the names that older files use, serve where the present ones are absent. An equinox means nothing to ICRS.
    """
    name = header.string("RADESYS") or header.string("RADECSYS")
    key = "EQUINOX" if "EQUINOX" in header.values else "EPOCH"
    equinox = header.number(key, 0.0) or None
    if name is None:
        name = "ICRS" if equinox is None else "FK4" if equinox < 1984.0 else "FK5"
    name = name.upper()
    if name in ("ICRS", "GAPPT"):
        return name, None
    return name, equinox or (1950.0 if name.startswith("FK4") else 2000.0)


def system_name(system: str, equinox: float | None) -> str:
    """Return words for a system, such as ``FK5, equinox 2000``."""
    return system if equinox is None else f"{system}, equinox {equinox:g}"


@lru_cache(maxsize=64)
def rotation_to_icrs(system: str, equinox: float | None) -> Matrix | None:
    """Rotation matrix from a system's axes to ICRS, or None where no rotation does it (FK4, apparent places).

    FK5 at J2000: the rotation of the FK5 catalogue into the Hipparcos system in the SOFA routine FK5HIP. Other
    equinoxes: astropy's precession of FK5.
    """
    if system == "ICRS":
        return (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    if system != "FK5":
        return None
    if equinox == 2000.0:
        import erfa

        return _rows(erfa.fk5hip()[0])
    return _precessed(float(equinox or 2000.0))


def _precessed(equinox: float) -> Matrix:
    import astropy.units as u
    from astropy.coordinates import FK5, ICRS, CartesianRepresentation, SkyCoord
    from astropy.time import Time

    axes = CartesianRepresentation([1, 0, 0] * u.one, [0, 1, 0] * u.one, [0, 0, 1] * u.one)
    seen = SkyCoord(axes, frame=FK5(equinox=Time(equinox, format="jyear"))).transform_to(ICRS())
    return _rows(seen.cartesian.xyz.value)


def _rows(matrix: object) -> Matrix:
    import numpy as np

    a, b, c = (tuple(float(value) for value in row) for row in np.asarray(matrix))
    return a, b, c  # type: ignore[return-value]

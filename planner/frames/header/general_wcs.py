"""Plate solutions of every other kind, by astropy: other projections, distortions, units, systems."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.errors import FileError
from planner.rig.plate_solution import PlateSolution

from .cards import ImageHeader
from .solution_facts import PixelView, make_solution
from .tangent_wcs import linear_matrix

if TYPE_CHECKING:
    from astropy.wcs import WCS

__all__ = ["general_solution"]

SYSTEMS = ({"RA--", "DEC-"}, {"GLON", "GLAT"})
"""Axis types that are read: astropy would take others, such as ecliptic ones, for right ascension."""
CONVERTED = ("icrs", "fk5", "fk4", "fk4noeterms", "galactic")
"""Systems, as astropy names them, that are converted to ICRS; others are refused."""
STEP_PX = 0.5
"""Half the step of the central differences that give directions and scales."""


def general_solution(header: ImageHeader) -> PlateSolution:
    """Plate solution of any header that astropy understands, converted to ICRS.

    Raises
    ------
    FileError
        If there is none, or its coordinate system cannot be converted.
    """
    _refuse_hopeless(header)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        wcs = _wcs(header)
        system = _sky_system(header, wcs)
        return make_solution(header, _AnyPlane(header, wcs), _system(system), _distortion(header, wcs))


def _refuse_hopeless(header: ImageHeader) -> None:
    types = [header.string(key) for key in ("CTYPE1", "CTYPE2")]
    if not any(types):
        raise FileError(f"{header.path} has no plate solution (CTYPE1 is missing); solve the frame first")
    if all(kind is None or "-" not in kind for kind in types):
        shown = ", ".join(kind or "nothing" for kind in types)
        raise FileError(
            f"{header.path}: its axes are {shown}, wanted sky coordinates such as RA---TAN, DEC--TAN; "
            "solve the frame first"
        )
    if {(kind or "")[:4] for kind in types} not in SYSTEMS:
        raise _cannot_convert(header, ", ".join(kind or "nothing" for kind in types))
    for key in ("CRVAL1", "CRVAL2", "CRPIX1", "CRPIX2"):
        header.needed(key)
    linear_matrix(header)


def _wcs(header: ImageHeader) -> WCS:
    from astropy.io import fits
    from astropy.wcs import WCS

    try:
        if any(key.startswith(("CPDIS", "D2IMDIS")) for key in header.values) or _is_table(header):
            with fits.open(header.path) as files:
                return WCS(files[header.place].header, files).celestial
        return WCS(fits.Header.fromstring(header.text)).celestial
    except Exception as error:
        reason = _short(error)
        raise FileError(f"{header.path}: its solution makes no sense ({reason}); solve it again") from error


def _is_table(header: ImageHeader) -> bool:
    return any((header.string(key) or "").endswith("-TAB") for key in ("CTYPE1", "CTYPE2"))


def _short(error: Exception) -> str:
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[-1].rstrip(".") if lines else type(error).__name__


def _sky_system(header: ImageHeader, wcs: WCS) -> Any:
    from astropy.coordinates import ICRS, SkyCoord
    from astropy.wcs.utils import wcs_to_celestial_frame

    try:
        system = wcs_to_celestial_frame(wcs)
        if system.name not in CONVERTED:
            raise ValueError(system.name)
        SkyCoord(10.0, 20.0, unit="deg", frame=system).transform_to(ICRS())
    except Exception:
        name = " ".join([*map(str, wcs.wcs.ctype), str(wcs.wcs.radesys)]).strip()
        raise _cannot_convert(header, name) from None
    return system


def _cannot_convert(header: ImageHeader, system: str) -> FileError:
    return FileError(
        f"{header.path}: its coordinate system ({system}) cannot be converted to ICRS; "
        "solve the frame in right ascension and declination"
    )


def _system(system: Any) -> str:
    equinox = getattr(system, "equinox", None)
    name = {"fk4": "FK4", "fk4noeterms": "FK4-NO-E", "fk5": "FK5", "icrs": "ICRS"}.get(
        system.name, system.name
    )
    if equinox is None:
        return str(name)
    return f"{name}, equinox {equinox.byear if name.startswith('FK4') else equinox.jyear:g}"


def _distortion(header: ImageHeader, wcs: WCS) -> str:
    if wcs.sip is not None:
        return "SIP"
    if wcs.cpdis1 is not None or wcs.cpdis2 is not None:
        return "lookup tables"
    kind = (header.string(f"CTYPE{wcs.wcs.lng + 1}") or "")[5:].strip("-")
    return "none" if kind == "TAN" else kind


class _AnyPlane:
    """Pixels to sky by astropy; directions by central differences."""

    def __init__(self, header: ImageHeader, wcs: WCS) -> None:
        self.header, self.wcs = header, wcs

    def sight(self, x: float, y: float) -> tuple[float, float, float]:
        return self._sights(x, y, np.zeros((1, 2)))[0]

    def view(self, x: float, y: float) -> PixelView:
        steps = STEP_PX * np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]])
        middle, right, left, above, below = self._sights(x, y, steps)
        return PixelView(middle, _slope(left, right), _slope(below, above))

    def _sights(self, x: float, y: float, steps: Any) -> list[tuple[float, float, float]]:
        found = _vectors(self.wcs, x + steps[:, 0], y + steps[:, 1])
        if not np.isfinite(found).all():
            path = self.header.path
            raise FileError(f"{path}: its solution has no sky at pixel ({x:g}, {y:g}); solve it again")
        return [(float(a), float(b), float(c)) for a, b, c in found]


def _slope(before: tuple[float, ...], after: tuple[float, ...]) -> tuple[float, float, float]:
    a, b, c = ((high - low) / (2 * STEP_PX) for low, high in zip(before, after, strict=True))
    return a, b, c


def _vectors(wcs: WCS, x: Any, y: Any) -> Any:
    """ICRS unit vectors of FITS pixels, shape (N, 3)."""
    from astropy.coordinates import ICRS

    world = wcs.pixel_to_world(x - 1.0, y - 1.0).transform_to(ICRS())
    return np.moveaxis(world.cartesian.xyz.value, 0, -1)

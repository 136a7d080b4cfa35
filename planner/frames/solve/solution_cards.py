"""Plate solutions as header cards, for frames whose own headers hold none."""

from __future__ import annotations

import re
import warnings
from collections.abc import Mapping
from pathlib import Path

from planner.errors import FileError
from planner.frames.header.cards import CARD, ImageHeader, refuse_contradictions
from planner.frames.header.made_up import MADE_UP
from planner.frames.header.tangent_wcs import tangent_solution
from planner.rig.plate_solution import PlateSolution

from .radial import Radial
from .tan_fit import TanFit

__all__ = [
    "COORDINATES",
    "Cards",
    "SOLUTION_SUFFIX",
    "fit_cards",
    "read_solution_beside",
    "read_solution_file",
    "solution_of_header",
    "solution_path",
    "with_cards",
]

Cards = Mapping[str, float | str]

SOLUTION_SUFFIX = ".solution.fits"
"""What a frame's name is followed by in the name of the solution written beside it."""

COORDINATES = re.compile(
    r"(WCSAXES|C(RVAL|RPIX|DELT|TYPE|UNIT|ROTA)\d+|(CD|PC|PV|PS)\d+_\d+|LONPOLE|LATPOLE|EQUINOX|EPOCH|RADE(SYS|CSYS)|"
    r"[AB]P?_(ORDER|DMAX|\d_\d))[A-Z]?\Z"
)


_OF_FRAME = re.compile(rf"({COORDINATES.pattern}|([XY]BINNING|{MADE_UP})\Z)")
"""What a solution file tells of its frame besides the frame's size."""


def solution_of_header(header: ImageHeader) -> PlateSolution:
    """Plate solution of a header, of whatever kind.

    Raises
    ------
    FileError
        If it holds none that can be understood, or contradicts itself.
    """
    refuse_contradictions(header)
    found = tangent_solution(header)
    if found is not None:
        return found
    from planner.frames.header.general_wcs import general_solution

    return general_solution(header)


def fit_cards(fit: TanFit, squares: int = 1) -> Cards:
    """Cards of the FITS standard for a fit made on pixels averaged over squares of this side.

    Pixel x of the averages, from 0, is pixel (x + 1/2) squares + 1/2 of the file, counted from 1.
    """
    keys = ("CD1_1", "CD1_2", "CD2_1", "CD2_2")
    kind = "" if fit.radial is None else "-SIP"
    return {
        "CTYPE1": f"RA---TAN{kind}",
        "CTYPE2": f"DEC--TAN{kind}",
        "RADESYS": "ICRS",
        "CRVAL1": fit.ra_deg,
        "CRVAL2": fit.dec_deg,
        "CRPIX1": (float(fit.center_px[0]) + 0.5) * squares + 0.5,
        "CRPIX2": (float(fit.center_px[1]) + 0.5) * squares + 0.5,
        **{key: value / squares for key, value in zip(keys, fit.cd_deg, strict=True)},
        "LONPOLE": 180.0,
        **({} if fit.radial is None else _radial_cards(fit.radial, squares)),
    }


def _radial_cards(radial: Radial, squares: int) -> Cards:
    """Return a radial term as SIP polynomials: A = k u (u^2 + v^2) / corner^2, B alike with v before.

    Source: Shupe et al. 2005, ASP Conf. Ser. 347, 491.
    """
    factor = radial.strength / (radial.corner_px * squares) ** 2
    cards: dict[str, float | str] = {"A_ORDER": 3, "B_ORDER": 3}
    return cards | {name: factor for name in ("A_3_0", "A_1_2", "B_2_1", "B_0_3")}


def with_cards(header: ImageHeader, cards: Cards) -> ImageHeader:
    """Return a frame's header as if it held this solution and no other."""
    return _with_texts(header, {key: _card_text(value).ljust(CARD - 10) for key, value in cards.items()})


def _card_text(value: float | str | bool) -> str:
    """Write a value as a card has it."""
    if isinstance(value, bool):
        return f"{'T' if value else 'F':>20}"
    return f"'{value}'" if isinstance(value, str) else f" {value!r}"


def _with_texts(header: ImageHeader, texts: Mapping[str, str]) -> ImageHeader:
    kept = {key: text for key, text in header.values.items() if not COORDINATES.match(key)}
    return header._replace(values=kept | dict(texts), text="", repeats=False)


def solution_path(frame: Path) -> Path:
    """Name of the file beside a frame that holds its solution.

    >>> solution_path(Path("night1/light_001.fit.gz")).name
    'light_001.fit.gz.solution.fits'
    """
    return frame.with_name(frame.name + SOLUTION_SUFFIX)


def read_solution_beside(header: ImageHeader) -> ImageHeader | None:
    """Header of a frame with the solution that lies beside it; None without one that fits."""
    apart = read_solution_file(solution_path(header.path))
    try:
        same = apart is not None and all(
            apart.number(key, 0) == header.number(key, 0) for key in ("NAXIS1", "NAXIS2")
        )
    except FileError:
        return None
    if apart is None or not same:
        return None
    return _with_texts(header, {key: text for key, text in apart.values.items() if COORDINATES.match(key)})


def read_solution_file(path: Path) -> ImageHeader | None:
    """Header of the frame that a solution file speaks of, as far as it tells; None where it is none."""
    from astropy.io import fits

    if not path.is_file():
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged files, which readers of frames tell in words
            found = fits.getheader(path)
        size = {f"NAXIS{axis}": int(found[f"FRAME{axis}"]) for axis in (1, 2)}
        cards = {str(key): value for key, value in found.items() if _OF_FRAME.match(str(key))}
    except (OSError, KeyError, ValueError, TypeError):
        return None
    return with_cards(ImageHeader(path, {}, "", 0), {**size, **cards}) if "CTYPE1" in cards else None

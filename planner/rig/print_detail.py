"""How large a picture can be printed, and how fine a detail the air leaves on paper.

That 300, 240 and 150 pixels an inch look sharp in the hand, on a wall and from further off is common
practice, no source. Sheets: ISO 216.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import InputError

from .print_size import CM_PER_INCH, USUAL_PPI, largest_sheet, print_size_cm

__all__ = ["PPI_STEPS", "LargestPrint", "largest_prints", "seeing_detail_mm"]

PPI_STEPS = (300.0, 240.0, 150.0)


@dataclass(frozen=True)
class LargestPrint:
    """The largest print at a density.

    Parameters
    ----------
    ppi : float
        Pixels an inch.
    width_cm, height_cm : float
    sheet : str or None
        Largest A sheet (ISO 216) that it fills, None below A5.
    """

    ppi: float
    width_cm: float
    height_cm: float
    sheet: str | None


def largest_prints(pixels: tuple[int, int], also_ppi: float = USUAL_PPI) -> tuple[LargestPrint, ...]:
    """Largest prints of a picture at each usual density, the densest first.

    Parameters
    ----------
    pixels : (int, int)
        Width and height.
    also_ppi : float
        A density more, pixels an inch.

    >>> [(one.ppi, round(one.width_cm, 1), one.sheet) for one in largest_prints((9933, 7016))]
    [(300.0, 84.1, 'A1'), (240.0, 105.1, 'A1'), (150.0, 168.2, 'A0')]
    """
    return tuple(
        LargestPrint(ppi, *print_size_cm(pixels, ppi=ppi), largest_sheet(pixels, ppi=ppi))
        for ppi in sorted({*PPI_STEPS, also_ppi}, reverse=True)
    )


def seeing_detail_mm(seeing_arcsec: float, scale_arcsec_px: float, ppi: float) -> float:
    """Size on paper, millimetres, of the finest detail that the air leaves: one width of a star's image.

    >>> round(seeing_detail_mm(3.0, 1.5, 254.0), 3)    # two pixels of 0.1 mm
    0.2
    """
    _require_positive(seeing_arcsec, scale_arcsec_px, ppi)
    return seeing_arcsec / scale_arcsec_px * CM_PER_INCH * 10.0 / ppi


def _require_positive(*values: float) -> None:
    if not all(value > 0.0 for value in values):
        raise InputError(
            f"seeing, scale and pixels an inch must be above 0, got {list(values)}; give positive numbers"
        )

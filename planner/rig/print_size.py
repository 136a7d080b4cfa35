"""Print size: pixels, centimetres, and the sheets of paper between them.

Source of the sheets: ISO 216. That 300 pixels an inch look sharp in the hand is common practice, no source.
"""

from __future__ import annotations

from planner.errors import InputError

__all__ = ["USUAL_PPI", "largest_sheet", "print_ppi", "print_size_cm"]

USUAL_PPI = 300.0
CM_PER_INCH = 2.54
SHEETS_MM = {
    "A0": (841, 1189),
    "A1": (594, 841),
    "A2": (420, 594),
    "A3": (297, 420),
    "A4": (210, 297),
    "A5": (148, 210),
}
"""ISO 216 A sizes, millimetres, short side first."""


def print_size_cm(pixels: tuple[int, int], *, ppi: float = USUAL_PPI) -> tuple[float, float]:
    """Width and height of a print, centimetres, at a density in pixels an inch.

    >>> width, height = print_size_cm((7016, 4961))
    >>> round(width, 1), round(height, 1)
    (59.4, 42.0)
    """
    _require_positive("ppi", ppi)
    return pixels[0] / ppi * CM_PER_INCH, pixels[1] / ppi * CM_PER_INCH


def print_ppi(pixels: int, width_cm: float) -> float:
    """Pixels an inch of a picture so many pixels wide, printed so many centimetres wide."""
    _require_positive("print width", width_cm)
    return pixels / width_cm * CM_PER_INCH


def largest_sheet(pixels: tuple[int, int], *, ppi: float = USUAL_PPI) -> str | None:
    """Return the largest A sheet that the picture fills on both sides, at least at that density.

    None if it does not even fill A5.

    >>> largest_sheet((7100, 5000)), largest_sheet((1000, 800))
    ('A2', None)
    """
    short, long = sorted(print_size_cm(pixels, ppi=ppi))
    for name, (short_mm, long_mm) in SHEETS_MM.items():
        if short * 10 >= short_mm - 0.1 and long * 10 >= long_mm - 0.1:
            return name
    return None


def _require_positive(name: str, value: float) -> None:
    if not value > 0.0:
        raise InputError(f"{name} must be above 0, got {value:g}; give a positive number")

"""The mosaic: panels over a region, with what has been proven of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.words import place_text

from .panel import Field, Panel
from .region import Region

__all__ = ["Axes", "Mosaic", "Seam", "told_apart"]

MOST_DECIMALS = 12


def told_apart(found: float, asked: float, decimals: int = 2) -> tuple[str, str]:
    """Write a number that falls short of another with as many digits as it takes to tell them apart.

    Parameters
    ----------
    found, asked : float
        The smaller is rounded down: no more is said than has been proven. Both are in one unit.
    decimals : int
        The least number of decimals of `found`.

    Returns
    -------
    tuple of str
        Both numbers; `asked` without zeros at its end.

    Examples
    --------
    >>> told_apart(14.9, 15.0), told_apart(15.12341, 15.12344)
    (('14.90', '15'), ('15.12341', '15.12344'))
    """
    for places in range(decimals, MOST_DECIMALS + 1):
        low = math.floor(found * 10**places) / 10**places
        least = round(asked, places)
        if low < least:
            break
    return f"{low:.{places}f}", f"{least:.{places}f}".rstrip("0").rstrip(".")


@dataclass(frozen=True)
class Axes:
    """The spherical system of a `per_panel` mosaic: origin and position angle of its north, degrees."""

    ra_deg: float
    dec_deg: float
    position_angle_deg: float


@dataclass(frozen=True, eq=False)
class Seam:
    """The strip that two neighbouring panels share.

    Parameters
    ----------
    first, second : int
        Indices of the panels, first < second.
    width_arcmin : float
        Its area divided by its length.
    corners : ndarray, shape (K, 3)
        Unit vectors of its corners.
    """

    first: int
    second: int
    width_arcmin: float
    corners: NDArray[np.float64]


@dataclass(frozen=True)
class Mosaic:
    """Panels that cover a region, and the proof.

    Parameters
    ----------
    region : Region
    field : Field
    panels : tuple of Panel
    angles : int or 'per_panel'
        How many camera angles, each set once; 1: one position angle for every panel; `per_panel`: each panel
        has the angle that keeps it square with the picture.
    axes : Axes or None
        Only for `per_panel`.
    overlap_asked, overlap_found : float
        Fractions of a side (of the short side where the overlap was asked in arc minutes); the one found is
        a proven lower bound, 0 where there is a gap.
    overlap_after_errors_arcmin : float or None
        Side of the square box that the octagons keep; None where no errors were given.
    gap_area_deg2, gap_after_errors_deg2 : float
        Exactly 0 where covered.
    panel_count_bound : int
        No plan that the request allows has fewer panels.
    """

    region: Region
    field: Field
    panels: tuple[Panel, ...]
    angles: int | Literal["per_panel"]
    axes: Axes | None
    overlap_asked: float
    overlap_found: float
    overlap_after_errors_arcmin: float | None
    gap_area_deg2: float
    gap_after_errors_deg2: float
    panel_count_bound: int
    seams: tuple[Seam, ...] = ()
    gap_center_deg: tuple[float, float] | None = None
    least_overlap_arcmin: float = 0.0

    @property
    def covered(self) -> bool:
        """Whether every point of the region lies in a panel."""
        return self.gap_area_deg2 == 0.0

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """What is missing of what was asked, one sentence each; empty if all is met."""
        return tuple(self._shortfalls())

    def _shortfalls(self) -> Iterator[str]:
        if not self.covered:
            yield f"a gap of {self.gap_area_deg2:.3g} square degrees is left{self._where}"
        elif self.overlap_found < self.overlap_asked * (1 - 1e-9):
            found, asked = told_apart(100 * self.overlap_found, 100 * self.overlap_asked)
            yield f"the overlap found is {found} %, less than the {asked} % asked for"
        if self.overlap_after_errors_arcmin is None:
            return
        if self.gap_after_errors_deg2 > 0 and self.covered:
            yield (
                f"errors of pointing, angle and dither can open gaps of up to {self.gap_after_errors_deg2:.3g} "
                f"square degrees{self._where}"
            )
        elif self.covered and self.overlap_after_errors_arcmin < self.least_overlap_arcmin * (1 - 1e-9):
            left, least = told_apart(self.overlap_after_errors_arcmin, self.least_overlap_arcmin)
            yield f"{left} arc minutes of overlap remain after errors, less than the {least} asked for"

    @property
    def _where(self) -> str:
        if self.gap_center_deg is None:
            return ""
        return f", the largest part around {place_text(*self.gap_center_deg)}"

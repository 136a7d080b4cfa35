"""The mosaic: panels over a region, with what has been proven of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .panel import Field, Panel
from .region import Region

__all__ = ["Axes", "Mosaic", "Seam"]


@dataclass(frozen=True)
class Axes:
    """The spherical frame of a `per_panel` mosaic: origin and position angle of its north, degrees."""

    ra_deg: float
    dec_deg: float
    position_angle_deg: float


@dataclass(frozen=True)
class Seam:
    """The strip that two neighbouring panels share: their indices and its width in arc minutes."""

    first: int
    second: int
    width_arcmin: float


@dataclass(frozen=True)
class Mosaic:
    """Panels that cover a region, and the proof.

    Parameters
    ----------
    region : Region
    field : Field
    panels : tuple of Panel
    turns : 'common', 'per_panel' or int
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
    turns: Literal["common", "per_panel"] | int
    axes: Axes | None
    overlap_asked: float
    overlap_found: float
    overlap_after_errors_arcmin: float | None
    gap_area_deg2: float
    gap_after_errors_deg2: float
    panel_count_bound: int
    seams: tuple[Seam, ...] = ()
    gap_center_deg: tuple[float, float] | None = None

    @property
    def covered(self) -> bool:
        """Whether every point of the region lies in a panel."""
        return self.gap_area_deg2 == 0.0

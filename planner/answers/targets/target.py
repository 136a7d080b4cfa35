"""A target, and the list of them that a setup can frame in a season, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from planner.mosaic.panel import Field
    from planner.night.settings import Nights
    from planner.request.request import Setup

    from .wish import TargetWish

__all__ = ["Arc", "Cuts", "Target", "TargetList"]

Arc = tuple[float, float]
"""From and to, or first and span, degrees."""


@dataclass(frozen=True, eq=False)
class Target:
    """A nebula, or a group of them, that the field can frame and the site can see in the season.

    Parameters
    ----------
    name : str
        Of the nebula; of a group, its two largest members.
    names : tuple of str
        All names of the nebula, the name first; of a group, its name alone.
    kind : str
        One of the kinds of nebulae, or ``group``.
    nebulae : tuple of int
        Indices of the nebulae in the catalogue's data, the largest first.
    parts : tuple of str
        Names of a group's members, the largest first; empty for a nebula.
    center_deg : (float, float)
        Of the best frame, ICRS.
    margin_arcmin : float
        The least margin at the frame's sides at its best centre and angle; below 0 where one frame is too small.
    position_angle_deg : float
        Of the best frame's up at its centre, degrees east of north, [0, 180).
    fits_at_deg : tuple of (float, float)
        Angles at which some centre leaves the margin asked for: from in [0, 180), to may pass 180.
    area_deg2 : float
        That must be covered, square degrees; of a group the sum of its members'.
    hours : mapping of str to float
        Hours in the season through each filter; ``any`` where the setup has no filters.
    evening_hours : ndarray, shape (F, E)
        The same, filter by filter and evening by evening.
    greatest_altitude_deg : float
        At the upper transit, dark or not.
    panels : int or None
        At the best angle; None where they were not counted.
    margin_now_arcmin : float or None
        The least margin at the camera's present angle, at the best centre for it; None without a present angle.
    panels_now : int or None
        At the present angle.
    cost : float or None
        Least cost of all exposures of all panels in the season; None without prices or where the hours do not do.
    planned_as : str or None
        Title of a plan file that has it already.
    """

    name: str
    names: tuple[str, ...]
    kind: str
    nebulae: tuple[int, ...]
    parts: tuple[str, ...]
    center_deg: tuple[float, float]
    margin_arcmin: float
    position_angle_deg: float
    fits_at_deg: tuple[Arc, ...]
    area_deg2: float
    hours: Mapping[str, float]
    evening_hours: NDArray[np.float64]
    greatest_altitude_deg: float
    panels: int | None = 1
    margin_now_arcmin: float | None = None
    panels_now: int | None = None
    cost: float | None = None
    planned_as: str | None = None

    @property
    def is_group(self) -> bool:
        """Whether it is a group of nebulae."""
        return bool(self.parts)

    @property
    def most_hours(self) -> float:
        """Hours through the filter that has the most."""
        return max(self.hours.values(), default=0.0)


@dataclass(frozen=True)
class Cuts:
    """How many were left out, and why: each counts what the one before it left.

    Parameters
    ----------
    known : int
        Nebulae of the catalogue that have a size.
    narrowed : int
        Left out by what the user asked for: kind, constellation, catalogue, size, declination, names.
    too_large : int
        Do not fit the frame, or need more panels than allowed.
    low : int
        Never rise above the site's limits, by day or night.
    by_day : int
        Rise above them in the season only by day.
    """

    known: int
    narrowed: int
    too_large: int
    low: int
    by_day: int

    @property
    def fit(self) -> int:
        """How many the field can frame."""
        return self.known - self.narrowed - self.too_large


@dataclass(frozen=True, eq=False)
class TargetList:
    """What a setup can frame in a season, ranked as asked for.

    Parameters
    ----------
    setup : Setup
    nights : Nights
    wish : TargetWish
    targets : tuple of Target
        Nebulae and groups, ranked.
    cuts : Cuts
        Of nebulae; groups are made of what is left.
    now_deg : float or None
        The camera's present position angle, [0, 180), or [0, 90) for a square field.
    margin_asked_arcmin : float
        Which `Target.fits_at_deg` leave at all sides.
    arcs_deg : tuple of (float, float) or None
        First angle and span, modulo 180, that the angle device reaches; None where all are.
    groups_note : str
        Which groups were looked for.
    """

    setup: Setup
    nights: Nights
    wish: TargetWish
    targets: tuple[Target, ...]
    cuts: Cuts
    now_deg: float | None
    margin_asked_arcmin: float
    arcs_deg: tuple[Arc, ...] | None
    groups_note: str = ""

    @property
    def field(self) -> Field:
        """The camera's usable field."""
        assert self.setup.camera is not None
        return self.setup.camera.field

    @property
    def nebulae(self) -> tuple[Target, ...]:
        """The targets that are no groups."""
        return tuple(one for one in self.targets if not one.is_group)

"""The terms of a mosaic: the field, the overlap asked for and the errors of the real mount."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from planner.errors import InputError
from planner.geometry import steady

from .demand import Demand, kept_shape, overlap_demand, with_hair
from .panel import Field

__all__ = ["Layout", "Terms"]


@dataclass(frozen=True)
class Terms:
    """What the panels are and what they must give.

    Parameters
    ----------
    field : Field
        Of one panel.
    overlap : float
        Fraction of each side, in (0, 0.9]; not used where `overlap_arcmin` is given.
    overlap_arcmin : float, optional
        Side of a square box instead.
    shift_arcmin : float
        How far each panel may be off in any direction: pointing error and dither together.
    turn_deg : float
        How far each panel may be off in angle.
    least_overlap_arcmin : float
        What must remain even then.

    Raises
    ------
    InputError
        If the errors or the overlap leave nothing of a panel.
    """

    field: Field
    overlap: float = 0.15
    overlap_arcmin: float | None = None
    shift_arcmin: float = 0.0
    turn_deg: float = 0.0
    least_overlap_arcmin: float = 0.0

    def __post_init__(self) -> None:
        if not len(self.demands[0].core_corners()):
            raise InputError(
                f"the overlap asked for is wider than the field of "
                f"{self.field.width_deg:.3g} x {self.field.height_deg:.3g} degrees; ask for less"
            )
        if self.has_errors and not (self.kept and len(self.demands[1].core_corners())):
            raise InputError(
                "pointing, dither and angle errors with the least overlap leave nothing of a field of "
                f"{self.field.width_deg:.3g} x {self.field.height_deg:.3g} degrees; give smaller errors"
            )

    @property
    def has_errors(self) -> bool:
        """Whether errors or a least overlap after errors were given."""
        return max(self.shift_arcmin, self.turn_deg, self.least_overlap_arcmin) > 0

    @cached_property
    def kept(self) -> tuple[tuple[float, float], ...]:
        """Corners of the part of a panel that stays covered under all errors."""
        shift_rad = math.radians(self.shift_arcmin / 60)
        return kept_shape(self.field, shift_rad=shift_rad, turn_rad=math.radians(self.turn_deg))

    @property
    def unit_box(self) -> tuple[float, float]:
        """Half sizes of the box of overlap 1: the panel, or a square of its short side."""
        half = (self.field.half_width, self.field.half_height)
        return half if self.overlap_arcmin is None else (min(half), min(half))

    @property
    def overlap_asked(self) -> float:
        """The overlap as a fraction of each side, or of the short side where it was asked in arc minutes."""
        if self.overlap_arcmin is None:
            return self.overlap
        return steady.tan(math.radians(self.overlap_arcmin / 60) / 2) / min(self.unit_box)

    @cached_property
    def demands(self) -> tuple[Demand, ...]:
        """What every plan must meet."""
        shape = overlap_demand(self.field, 0.0).shape
        width, height = self.unit_box
        asked = Demand(shape, (self.overlap_asked * width, self.overlap_asked * height))
        if not self.has_errors or not self.kept:
            return (asked,)
        least = steady.tan(math.radians(self.least_overlap_arcmin / 60) / 2)
        return asked, Demand(self.kept, (least, least))

    @cached_property
    def layout_demands(self) -> tuple[Demand, ...]:
        """What layouts are made for: a hair more than the demands."""
        return with_hair(self.demands)


@dataclass(frozen=True)
class Layout:
    """How panels may be placed.

    Parameters
    ----------
    kind : {'free', 'sliding', 'grid'}
    angles : int or 'per_panel'
        How many camera angles, each set once; 1: one position angle for every panel; `per_panel`: each panel
        has the angle that keeps it square with the picture.
    angle_deg : float, optional
        Position angle of the panels (of the axes for `per_panel`); left out, the one that needs the fewest.
    angle_range_deg : (float, float), optional
        Search only from the first angle up to the second; may wrap.
    columns, rows : int, optional
        Exactly this grid.
    picture_angle_deg : float, optional
        Of the picture's up: names begin at its top, and it decides between equal plans.
    effort : {'quick', 'usual', 'thorough'}
    measure : bool
        Of the plan that is found: see `prove`.
    """

    kind: Literal["free", "sliding", "grid"] = "free"
    angles: int | Literal["per_panel"] = 1
    angle_deg: float | None = None
    angle_range_deg: tuple[float, float] | None = None
    columns: int | None = None
    rows: int | None = None
    picture_angle_deg: float | None = None
    effort: Literal["quick", "usual", "thorough"] = "usual"
    measure: bool = True

    @property
    def several_angles(self) -> int:
        """How many camera angles panels may share, where that is more than one; else 0."""
        return self.angles if isinstance(self.angles, int) and self.angles > 1 else 0

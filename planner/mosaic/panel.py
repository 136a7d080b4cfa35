"""The panel and the field of view, as values."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import footprint_area_sr, footprint_vectors, sky_basis, sky_to_vector, steady

__all__ = [
    "Field",
    "Panel",
    "Shape",
    "half_sizes",
    "own_shapes",
    "panel_bases",
    "panel_centers",
    "panel_corners",
    "rectangle_shape",
    "shooting_order",
]

Shape = tuple[tuple[float, float], ...]


def rectangle_shape(a: float, b: float) -> Shape:
    """Corners of a rectangle of half sizes a and b (x left, y up), counter-clockwise as a plane figure."""
    return (a, b), (-a, b), (-a, -b), (a, -b)


@dataclass(frozen=True)
class Field:
    """The usable field of view of one panel.

    Parameters
    ----------
    width_deg, height_deg : float
        Full angles along the sensor's rows and columns through the centre, in (0, 120] degrees.

    Raises
    ------
    InputError
        If a size is out of range.
    """

    width_deg: float
    height_deg: float

    def __post_init__(self) -> None:
        for name in ("width_deg", "height_deg"):
            value = getattr(self, name)
            if not 0.0 < value <= 120.0:
                raise InputError(
                    f"the field's {name} must be in (0, 120], got {value:g}; check focal length and sensor"
                )

    @property
    def half_width(self) -> float:
        """Half width in the tangent plane, tan(width / 2)."""
        return steady.tan(math.radians(self.width_deg) / 2)

    @property
    def half_height(self) -> float:
        """Half height in the tangent plane, tan(height / 2)."""
        return steady.tan(math.radians(self.height_deg) / 2)

    @property
    def shape(self) -> Shape:
        """Corners in the tangent plane (x left, y up), counter-clockwise as a plane figure."""
        return rectangle_shape(self.half_width, self.half_height)

    @property
    def is_square(self) -> bool:
        """Whether turns by 90 degrees change nothing."""
        return math.isclose(self.width_deg, self.height_deg, rel_tol=1e-9)

    @property
    def period_deg(self) -> float:
        """The turn that leaves a panel's ground the same: 180 degrees, or 90 for a square field."""
        return 90.0 if self.is_square else 180.0

    @property
    def area_deg2(self) -> float:
        """Solid angle in square degrees."""
        return float(footprint_area_sr(self.half_width, self.half_height)) * math.degrees(1.0) ** 2


@dataclass(frozen=True)
class Panel:
    """One camera pointing.

    Parameters
    ----------
    name : str
        Row letter and column number, such as ``B3``.
    order : int
        Place in the shooting order, from 1.
    row, column : int
        From 1; row 1 is the top of the picture, column 1 its left.
    ra_deg, dec_deg : float
        Centre, ICRS degrees, right ascension in [0, 360).
    position_angle_deg : float
        Of the frame's up direction at the centre, degrees east of north, [0, 360).
    kept : bool
        Whether it stays where it is, while others may be added to it.
    field : Field, optional
        Ground that frames of some other size have shown; left out, what the plan's camera shows.
    """

    name: str
    order: int
    row: int
    column: int
    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    kept: bool = dataclasses.field(default=False, kw_only=True)
    field: Field | None = dataclasses.field(default=None, kw_only=True)


def shooting_order(panels: Sequence[Panel]) -> list[int]:
    """Return the panels' indices in the order in which they are shot."""
    return sorted(range(len(panels)), key=lambda index: panels[index].order)


def panel_bases(panels: Sequence[Panel]) -> NDArray[np.float64]:
    """Tangent plane bases (left, up, out) of panels, shape (N, 3, 3)."""
    values = np.array([(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in panels], dtype=float).reshape(
        -1, 3
    )
    return sky_basis(values[:, 0], values[:, 1], values[:, 2])


def panel_centers(panels: Sequence[Panel]) -> NDArray[np.float64]:
    """Centres of panels, unit vectors, shape (N, 3)."""
    values = np.array([(p.ra_deg, p.dec_deg) for p in panels], dtype=float).reshape(-1, 2)
    return sky_to_vector(values[:, 0], values[:, 1])


def panel_corners(panels: Sequence[Panel], field: Field) -> NDArray[np.float64]:
    """Corner vectors of panels, shape (N, 4, 3): SE, SW, NW, NE as seen at position angle 0."""
    half = half_sizes(panels, field)
    return footprint_vectors(panel_bases(panels), half[:, 0], half[:, 1])


def half_sizes(panels: Sequence[Panel], field: Field) -> NDArray[np.float64]:
    """Half widths and heights of panels in their tangent planes, shape (N, 2)."""
    fields = (panel.field or field for panel in panels)
    return np.array([(one.half_width, one.half_height) for one in fields], dtype=float).reshape(-1, 2)


def own_shapes(panels: Sequence[Panel]) -> tuple[Shape | None, ...]:
    """Corners, in its tangent plane, of each panel with a field of its own; None for the others."""
    return tuple(None if panel.field is None else panel.field.shape for panel in panels)

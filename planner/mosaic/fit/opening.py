"""What has to hold everything: half sizes of one field in its tangent plane, and the unit of its margin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.panel import Field

__all__ = ["Opening"]


@dataclass(frozen=True)
class Opening:
    """A rectangle about the origin of a tangent plane, and how room at its sides is counted.

    The room of a point (x, y) is the least of (half width - |x|) / unit width and (half height - |y|) / unit
    height. With units of 1 that is the margin in radians of the tangent plane; with the half sizes themselves as
    units it is 1 less the scale at which the rectangle would just hold the point.

    Parameters
    ----------
    half : (float, float)
        Half width and half height, tangent plane.
    unit : (float, float)
        Units of the room at the left and right, and at the top and bottom.
    """

    half: tuple[float, float]
    unit: tuple[float, float] = (1.0, 1.0)

    @classmethod
    def margins(cls, field: Field) -> Opening:
        """Return the opening of a field, room counted as margin, radians of the tangent plane."""
        return cls((field.half_width, field.half_height))

    @classmethod
    def scales(cls, field: Field) -> Opening:
        """Return the opening of a field, room counted as 1 less the scale that would just do."""
        return cls((field.half_width, field.half_height), (field.half_width, field.half_height))

    @property
    def sizes(self) -> NDArray[np.float64]:
        """Half sizes in the units of the room at the left, right, top and bottom, shape (4,)."""
        return np.repeat(np.array(self.half) / self.units[::2], 2)

    @property
    def units(self) -> NDArray[np.float64]:
        """Units of the room at the left, right, top and bottom, shape (4,)."""
        return np.repeat(np.array(self.unit), 2)

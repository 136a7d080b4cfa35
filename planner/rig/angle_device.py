"""What turns the camera: position angle <-> reading on its scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["AngleDevice", "Mount"]


@dataclass(frozen=True)
class AngleDevice:
    """A rotator, a graduated adjuster or a fixed camera.

    Parameters
    ----------
    kind : {'rotator', 'adjuster', 'fixed'}
    zero_deg : float
        Position angle at reading 0 in the normal pointing state.
    sense : {1, -1}
        1: the reading grows with position angle; -1: it falls.
    range_deg : (float, float)
        Travel, in readings; may exceed a turn or be less.
    division_deg : float
        Smallest step of the scale, or the motor's step.
    """

    kind: Literal["rotator", "adjuster", "fixed"]
    zero_deg: float = 0.0
    sense: int = 1
    range_deg: tuple[float, float] = (0.0, 360.0)
    division_deg: float = 1.0


@dataclass(frozen=True)
class Mount:
    """The mount: what happens at the meridian.

    Parameters
    ----------
    kind : {'german', 'fork', 'altaz'}
    flip_after_transit_min : float
    """

    kind: Literal["german", "fork", "altaz"] = "german"
    flip_after_transit_min: float = 0.0

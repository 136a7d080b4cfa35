"""Ground that good frames cover: where they look, how large they are, how long they were exposed."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.geometry import footprint_vectors, sky_basis
from planner.night.clock import DAY_S
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .drift import date_number

__all__ = ["FootprintLog", "Footprints", "joined"]

DAY_ZERO_S = 946684800.0
"""2000-01-01 0h UTC, POSIX seconds."""

COLUMNS = 9


@dataclass(frozen=True)
class Footprints:
    """Footprints of N frames.

    Parameters
    ----------
    bases : ndarray, shape (N, 3, 3)
        Tangent plane bases (left, up, out).
    half_sizes : ndarray, shape (N, 2)
        Half width and height in the tangent plane.
    seconds : ndarray, shape (N,)
    filters, panels : ndarray of int, shape (N,)
        Numbers of the filter, -1 for none, and of the panel.
    start_s : ndarray, shape (N,), optional
        Start of the exposure, POSIX seconds; NaN where it is not known. Left out, it is known of none.
    """

    bases: NDArray[np.float64]
    half_sizes: NDArray[np.float64]
    seconds: NDArray[np.float64]
    filters: NDArray[np.intp]
    panels: NDArray[np.intp]
    start_s: NDArray[np.float64] | None = None

    def __len__(self) -> int:
        return len(self.seconds)

    def corners(self) -> NDArray[np.float64]:
        """Corner vectors, shape (N, 4, 3)."""
        return footprint_vectors(self.bases, self.half_sizes[:, 0], self.half_sizes[:, 1])

    def chosen(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Footprints:
        """Return some of the footprints, by a mask or by their numbers."""
        return Footprints(
            self.bases[which],
            self.half_sizes[which],
            self.seconds[which],
            self.filters[which],
            self.panels[which],
            None if self.start_s is None else self.start_s[which],
        )


def joined(parts: Sequence[Footprints]) -> Footprints:
    """Return the footprints of several sets as one, at least one set."""
    starts = [np.full(len(one), np.nan) if one.start_s is None else one.start_s for one in parts]
    return Footprints(
        np.concatenate([one.bases for one in parts]),
        np.concatenate([one.half_sizes for one in parts]),
        np.concatenate([one.seconds for one in parts]),
        np.concatenate([one.filters for one in parts]),
        np.concatenate([one.panels for one in parts]),
        np.concatenate(starts),
    )


@dataclass
class FootprintLog:
    """Footprints as they come in, kept as plain numbers: 72 bytes a frame.

    The usable part of a frame counts, and never more than the plan's field.

    Parameters
    ----------
    camera : Camera
        Of the plan.
    """

    camera: Camera
    _numbers: array[float] = field(default_factory=lambda: array("d"), repr=False)
    _limits: tuple[float, float] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        plan = self.camera.field
        self._limits = plan.half_width, plan.half_height

    def add(self, solution: PlateSolution, *, panel: int, filter_number: int, seconds: float) -> None:
        """Add the footprint of one frame."""
        place = solution.ra_deg, solution.dec_deg, solution.position_angle_deg
        sizes, start_s = self._half_sizes(solution), _start_s(solution.date_obs)
        self._numbers.extend((*place, *sizes, seconds, filter_number, panel, start_s))

    def _half_sizes(self, solution: PlateSolution) -> Iterable[float]:
        for degrees, part, limit in zip(solution.field_deg, self.camera.usable, self._limits, strict=True):
            yield min(math.tan(math.radians(degrees) / 2) * part, limit)

    def __len__(self) -> int:
        return len(self._numbers) // COLUMNS

    def footprints(self, *, first: int = 0) -> Footprints:
        """Return the footprints so far, from one of them on."""
        table = np.array(self._numbers[first * COLUMNS :], dtype=float).reshape(-1, COLUMNS)
        bases = sky_basis(table[:, 0], table[:, 1], table[:, 2])
        filters, panels = table[:, 6].astype(np.intp), table[:, 7].astype(np.intp)
        return Footprints(bases, table[:, 3:5], table[:, 5], filters, panels, table[:, 8])


def _start_s(date_obs: str | None) -> float:
    """POSIX seconds of a DATE-OBS; NaN if it is missing or makes no sense."""
    days = date_number(date_obs)
    return math.nan if days is None else DAY_ZERO_S + days * DAY_S

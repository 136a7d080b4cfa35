"""A rehearsal: its frames, how small they are drawn, and what they come to."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.answers.nights import NightsPlan
from planner.answers.plan import Plan
from planner.catalogue.stars import count_in_polygons
from planner.checks import require
from planner.errors import InputError
from planner.frames.header.fits_blocks import BLOCK
from planner.frames.review.limits import Limits
from planner.frames.solve.solve import POOR_FIELD
from planner.mosaic.panel import panel_corners
from planner.rig.camera import Camera
from planner.words import counted

from .choices import FAULT_LEVELS, LARGEST_SEED, SOLUTIONS, Fault, FaultLevel, Solutions
from .exposures import timetable_exposures
from .faults import choose_mishaps
from .frame_maker import FrameMaker, MadeUpFrame

__all__ = ["HEADER_BYTES", "MOST_BYTES", "Rehearsal", "make_rehearsal"]

SHOWS_NO_STARS: tuple[Fault, ...] = ("clouds", "trailed")
"""With these no plate solution can be found, so headers hold none."""
LONG_SIDE_PX = 600
"""Frames are binned to at most so many pixels along their longer side; their stars can still be solved."""
SHORTEST_SIDE_PX = 24
MOST_BYTES = 490_000_000
"""Of all frames together: with the texts a season stays below 500 MB."""
HEADER_BYTES = 2 * BLOCK
"""Of a frame: two blocks (FITS Standard 4.0, section 3.1)."""


@dataclass(frozen=True, eq=False)
class Rehearsal:
    """All frames of a rehearsal, and how they are drawn; make it with `make_rehearsal`.

    Parameters
    ----------
    plan : Plan
    frames : tuple of MadeUpFrame
        By their start, missing ones among them.
    level : {'none', 'some', 'many'}
    solutions : {'all', 'half', 'none'}
    seed : int
    binning : int
        Sensor pixels along a side of a frame's pixel.
    """

    plan: Plan
    frames: tuple[MadeUpFrame, ...]
    level: FaultLevel
    solutions: Solutions
    seed: int
    binning: int

    @property
    def title(self) -> str:
        """Of the plan."""
        return self.plan.request.title

    @property
    def named(self) -> Iterator[tuple[None, Rehearsal]]:
        """The rehearsal itself, without the name of an instrument: there is only one."""
        yield None, self

    @property
    def written(self) -> tuple[MadeUpFrame, ...]:
        """Frames that came back."""
        return tuple(frame for frame in self.frames if frame.came_back)

    @property
    def evenings(self) -> tuple[dt.date, ...]:
        """Evenings that have exposures."""
        return tuple(sorted({frame.exposure.evening for frame in self.frames}))

    @property
    def evenings_words(self) -> str:
        """The evenings in words."""
        found = self.evenings
        if len(found) == 1:
            return found[0].isoformat()
        return f"{found[0]} to {found[-1]}, {len(found)} with exposures"

    @property
    def exposures_words(self) -> str:
        """How many exposures the timetable had, and how many of them came back in how many frames."""
        planned = sum(frame.stacked for frame in self.frames)
        back = sum(frame.stacked for frame in self.written)
        kept = f"all {planned}" if back == planned else f"{back} of {planned}"
        return f"{kept} of the timetable came back, in {counted(len(self.written), 'frame')}"

    @property
    def size_px(self) -> tuple[int, int]:
        """Columns and rows of a frame."""
        return _size_px(self.plan.request.camera, self.binning)

    @property
    def frames_bytes(self) -> int:
        """Size of all files of frames together."""
        return _frame_bytes(self.plan.request.camera, self.binning) * len(self.written)

    def counts(self) -> Counter[Fault]:
        """Frames with each fault; missing ones count as nothing else."""
        return Counter(fault for frame in self.frames for fault in frame.seen)

    def poor_panels(self) -> tuple[str, ...]:
        """Panels with frames to be solved, but with so few catalogue stars that a review may not solve them."""
        unsolved = {frame.panel for frame in self.written if not frame.solved}
        panels = [panel for panel in self.plan.mosaic.panels if panel.name in unsolved]
        corners = panel_corners(panels, self.plan.mosaic.field) if panels else ()
        counts = count_in_polygons(list(corners))
        return tuple(panel.name for panel, stars in zip(panels, counts, strict=True) if stars < POOR_FIELD)


def make_rehearsal(
    nights: NightsPlan,
    *,
    evenings: int | None = None,
    faults: FaultLevel = "some",
    solutions: Solutions = "half",
    seed: int = 1,
    most_bytes: int = MOST_BYTES,
) -> Rehearsal:
    """Make up the frames of a plan's timetable.

    Parameters
    ----------
    nights : NightsPlan
    evenings : int, optional
        The first evenings of the timetable that have entries; left out, all.
    faults : {'none', 'some', 'many'}
        How much goes wrong. With 'none' every frame stands exactly on its panel, never upside down.
    solutions : {'all', 'half', 'none'}
        Which headers hold plate solutions: all, every second or none of the frames in which stars can be seen.
    seed : int
        In [0, 2^63): the same seed gives the same frames.
    most_bytes : int
        Of all frames together: they are made smaller where they would come to more.

    Raises
    ------
    InputError
        If the plan has no timetable or an empty one, a value is out of range, or the frames are too many.
    """
    require(0 <= seed <= LARGEST_SEED, f"the seed must be in [0, {LARGEST_SEED}], got {seed}; give another")
    require(faults in FAULT_LEVELS, f"faults must be one of {', '.join(FAULT_LEVELS)}, got {faults!r}")
    require(solutions in SOLUTIONS, f"solutions must be one of {', '.join(SOLUTIONS)}, got {solutions!r}")
    exposures = timetable_exposures(nights, evenings)
    plan = nights.plan
    binning = _binning(plan.request.camera, len(exposures), most_bytes)
    limits, random = Limits.of_plan(plan.request), np.random.default_rng([seed, 1])
    mishaps = choose_mishaps(exposures, faults, limits, random)
    maker = FrameMaker(plan, limits, random, exact=faults == "none")
    frames = tuple(_with_solutions(maker.frames(exposures, mishaps), solutions))
    return Rehearsal(plan, frames, faults, solutions, seed, binning)


def _size_px(camera: Camera, binning: int) -> tuple[int, int]:
    return camera.sensor_px[0] // binning, camera.sensor_px[1] // binning


def _frame_bytes(camera: Camera, binning: int) -> int:
    columns, rows = _size_px(camera, binning)
    return HEADER_BYTES + BLOCK * math.ceil(2 * columns * rows / BLOCK)


def _binning(camera: Camera, count: int, most_bytes: int) -> int:
    """Sensor pixels along a side of a drawn pixel, so that frames are small and all of them fit."""
    wanted = min(math.ceil(max(camera.sensor_px) / LONG_SIDE_PX), *camera.sensor_px)
    binning = max(camera.binning, wanted)
    while count * _frame_bytes(camera, binning) > most_bytes:
        binning += 1
        if min(_size_px(camera, binning)) < SHORTEST_SIDE_PX:
            raise InputError(
                f"{count} frames do not fit into {most_bytes // 1_000_000} MB, however small they are; "
                "rehearse fewer nights"
            )
    return binning


def _with_solutions(frames: Iterable[MadeUpFrame], solutions: Solutions) -> Iterator[MadeUpFrame]:
    """Frames with what their headers hold: of those that came back all, every second or none are solved."""
    came_back = 0
    for frame in frames:
        asked = solutions == "all" or (solutions == "half" and came_back % 2 == 0)
        came_back += frame.came_back
        yield replace(frame, solved=asked and frame.came_back and _shows_stars(frame.faults))


def _shows_stars(faults: Sequence[Fault]) -> bool:
    return not any(fault in faults for fault in SHOWS_NO_STARS)

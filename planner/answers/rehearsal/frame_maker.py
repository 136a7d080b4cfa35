"""Made-up frames as values: exposures of a timetable with what goes wrong with them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.answers.panel_facts import readings_deg
from planner.answers.plan import Plan
from planner.frames.made_up.aim import Aim
from planner.frames.review.filter_names import FilterNames
from planner.frames.review.limits import Limits
from planner.geometry import separation_rad, wrapped_deg
from planner.mosaic.panel import panel_bases

from .choices import FAULTS, Fault
from .exposures import Exposure
from .faults import Mishaps

__all__ = ["FrameMaker", "MadeUpFrame"]

SCATTER = 0.3
"""Frames stand off by up to this part of the limit of the offset, or by what the mount is said to err if that
is less (but not less than `LEAST_SCATTER`)."""
LEAST_SCATTER = 0.05
BEYOND = (1.4, 2.6)
"""A pointing error, in limits of the offset."""
LEAST_BEYOND = 1.2
"""So many limits it is away from every panel."""
PLACES_TRIED = 64
WRONG_NAMES = ("Slot 7", "Slot 8", "Slot 9")
"""A filter wheel that tells places instead of names."""


@dataclass(frozen=True)
class MadeUpFrame:
    """One frame of a rehearsal.

    Parameters
    ----------
    exposure : Exposure
        Of the timetable; the first one of a stack.
    panel, filter : str
        What it is meant to show, and through which filter it was taken.
    filter_told : str
        What its header says.
    exposure_s : float
        Of a stack, all together.
    stacked : int
        How many exposures it was made of.
    planned, aim : Aim
        Where it should look, and where it does; a flip included.
    faults : tuple of str
        In the order of `FAULTS`.
    solved : bool
        Whether its header holds a plate solution.
    """

    exposure: Exposure
    panel: str
    filter: str
    filter_told: str
    exposure_s: float
    stacked: int
    planned: Aim
    aim: Aim
    faults: tuple[Fault, ...]
    solved: bool = False

    @property
    def seen(self) -> tuple[Fault, ...]:
        """What whoever gets the frames can see of its faults: of a missing one no more than that."""
        return self.faults if self.came_back else ("missing",)

    @property
    def came_back(self) -> bool:
        """Whether there is a file of it."""
        return "missing" not in self.faults


class FrameMaker:
    """Makes frames of a plan.

    Parameters
    ----------
    plan : Plan
    limits : Limits
        Of a good frame.
    random : Generator
        Decides where frames stand.
    exact : bool
        Whether frames stand exactly on their panels, and never upside down.
    """

    def __init__(self, plan: Plan, limits: Limits, random: np.random.Generator, *, exact: bool) -> None:
        self.plan, self.limits, self.random, self.exact = plan, limits, random, exact
        self._centers = panel_bases(plan.mosaic.panels)[:, 2]
        errors = plan.request.mosaic
        said = errors.pointing_error_arcmin + errors.dither_arcmin
        self._scatter = min(SCATTER * limits.offset_arcmin, max(LEAST_SCATTER * limits.offset_arcmin, said))
        device = plan.request.angle_device
        self._readings = None if device is None else readings_deg(plan)
        known = FilterNames(one.name for one in plan.request.filters)
        mine = {one.name for one in plan.request.filters}
        self._wrong = next((name for name in WRONG_NAMES if known.of_header(name) not in mine), None)

    def frames(self, exposures: Sequence[Exposure], mishaps: Mishaps) -> Iterator[MadeUpFrame]:
        """Frames by their start; the exposures of a stack are one of them."""
        stacks = {run[0]: len(run) for run in mishaps.stacks}
        inside = {number for run in mishaps.stacks for number in run[1:]}
        for number, exposure in enumerate(exposures):
            if number not in inside:
                frame = self._frame(exposure, mishaps, number)
                count = stacks.get(number, 1)
                yield replace(frame, exposure_s=count * exposure.exposure_s, stacked=count)

    def _frame(self, exposure: Exposure, mishaps: Mishaps, number: int) -> MadeUpFrame:
        panel, chosen = self.plan.mosaic.panels[exposure.panel], self.plan.request.filters[exposure.chosen]
        planned, fault = Aim.at(panel), mishaps.faults[number]
        aim = planned
        if not self.exact:
            moved, fault = self._moved(planned, exposure.panel, fault)
            aim = moved.turned(mishaps.turn_deg[number])
        faults = {fault} | ({"drift"} if mishaps.drifted[number] else set())
        if not self.exact and self._is_upside_down(exposure):
            aim, faults = aim.turned(180.0), faults | {"flip"}
        told = self._wrong if fault == "filter" and self._wrong else chosen.name
        return MadeUpFrame(
            exposure,
            panel.name,
            chosen.name,
            told,
            exposure.exposure_s,
            1,
            planned,
            aim,
            tuple(one for one in FAULTS if one in faults),
        )

    def _moved(self, planned: Aim, panel: int, fault: Fault | None) -> tuple[Aim, Fault | None]:
        """Return a frame's aim beside its panel, and its fault; where no place is beyond the limit it has none."""
        if fault == "pointing":
            far = self._far_off(planned, panel)
            if far is not None:
                return far, fault
            fault = None
        offset = self._scatter * np.sqrt(self.random.uniform())
        return planned.moved(float(offset), float(self.random.uniform(0.0, 360.0))), fault

    def _far_off(self, planned: Aim, panel: int) -> Aim | None:
        """Return a place beyond the limit of every panel, nearest to its own."""
        limit = self.limits.offset_arcmin
        for _ in range(PLACES_TRIED):
            offset = float(self.random.uniform(*BEYOND)) * limit
            aim = planned.moved(offset, float(self.random.uniform(0.0, 360.0)))
            apart_arcmin = 60.0 * np.degrees(separation_rad(self._centers, aim.basis[2]))
            if apart_arcmin.argmin() == panel and apart_arcmin.min() > LEAST_BEYOND * limit:
                return aim
        return None

    def _is_upside_down(self, exposure: Exposure) -> bool:
        """Whether the camera's up is the panel's down on this side of the mount."""
        if exposure.looking is None:
            return False
        device = self.plan.request.angle_device
        if device is None or self._readings is None or np.isnan(self._readings[exposure.panel]):
            return exposure.looking == "west"  # set as planned before the flip
        angle = device.position_angle_of(float(self._readings[exposure.panel]), looking=exposure.looking)
        wanted = self.plan.mosaic.panels[exposure.panel].position_angle_deg
        return abs(float(wrapped_deg(angle - wanted))) > 90.0

"""What goes wrong in a rehearsal: which exposures, and how, in known numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from planner.frames.review.limits import Limits

from .choices import Fault, FaultLevel
from .exposures import Exposure

__all__ = ["Mishaps", "choose_mishaps"]

SHARES: dict[str, dict[Fault, float]] = {
    "some": {
        "turned": 0.04,
        "clouds": 0.03,
        "pointing": 0.03,
        "trailed": 0.02,
        "missing": 0.02,
        "filter": 0.02,
        "drift": 0.06,
    },
    "many": {
        "turned": 0.08,
        "clouds": 0.08,
        "pointing": 0.07,
        "trailed": 0.05,
        "missing": 0.05,
        "filter": 0.05,
        "drift": 0.12,
    },
}
"""Part of the exposures that each fault meets, at least one; chosen by eye."""
RUNS: dict[str, dict[Fault, int]] = {"some": {"clouds": 1, "stack": 1}, "many": {"clouds": 3, "stack": 3}}
"""In how many runs clouds come, and how many stacks there are."""
TURNED_DEG = 2.0
"""By how much the camera is set off, or by twice the limit where that is more."""
LEAST_BEYOND = 0.06
"""An angle is at least by this part within or beyond the limit, so that rounding decides no verdict."""
LEAST_PART = 0.3
"""The drift takes at least this part of the time to reach the limit."""
STACKED = 4
"""Most exposures of a stack."""
MOST_FAULTY = 0.6
"""Part of the exposures that may have a fault of their own."""


@dataclass(frozen=True)
class Mishaps:
    """What goes wrong with a list of exposures.

    Parameters
    ----------
    faults : tuple of (str or None)
        Of each exposure, what goes wrong with it alone.
    turn_deg : tuple of float
        By how much the camera is turned against the plan, east of north positive.
    drifted : tuple of bool
        Whether the drift alone is beyond the limit of a good frame.
    stacks : tuple of tuple of int
        Runs of exposures of which only a stack came back.
    """

    faults: tuple[Fault | None, ...]
    turn_deg: tuple[float, ...]
    drifted: tuple[bool, ...]
    stacks: tuple[tuple[int, ...], ...] = ()


def choose_mishaps(
    exposures: Sequence[Exposure], level: FaultLevel, limits: Limits, random: np.random.Generator
) -> Mishaps:
    """Choose what goes wrong.

    Parameters
    ----------
    exposures : sequence of Exposure
        By their start.
    level : {'none', 'some', 'many'}
    limits : Limits
        Of a good frame.
    random : Generator
        Decides all choices.
    """
    count = len(exposures)
    if level == "none":
        return Mishaps((None,) * count, (0.0,) * count, (False,) * count)
    chooser = _Chooser(exposures, random)
    shares, runs = SHARES[level], RUNS[level]
    chooser.end_of_an_evening("turned", shares["turned"])
    for fault in ("pointing", "trailed", "missing", "filter"):
        chooser.single(fault, shares[fault])
    for _ in range(runs["clouds"]):
        chooser.run("clouds", shares["clouds"] / runs["clouds"])
    stacks = tuple(chooser.stack() for _ in range(runs["stack"]))
    turned = [fault == "turned" for fault in chooser.faults]
    sense = float(random.choice([-1.0, 1.0]))
    drift = _drift_deg(exposures, shares["drift"], limits.angle_deg, random)
    extra = max(TURNED_DEG, 2.0 * limits.angle_deg)
    return Mishaps(
        tuple(chooser.faults),
        tuple(sense * (angle + extra * off) for angle, off in zip(drift, turned, strict=True)),
        tuple(angle > limits.angle_deg for angle in drift),
        tuple(run for run in stacks if run),
    )


def _drift_deg(
    exposures: Sequence[Exposure], share: float, limit_deg: float, random: np.random.Generator
) -> list[float]:
    """Angle of each exposure: evenly with time, a little scattered; a share of them, the last, beyond the limit."""
    start = np.array([one.start_s for one in exposures], dtype=float)
    part = (start - start[0]) / max(1.0, float(start[-1] - start[0]))
    first_beyond = len(part) - max(1, round(share * len(part)))
    rate_deg = limit_deg * (1.0 + LEAST_BEYOND) / max(float(part[first_beyond]), LEAST_PART)
    angle = rate_deg * part + 0.01 * limit_deg * random.uniform(-1.0, 1.0, len(start))
    least, most = limit_deg * (1.0 - LEAST_BEYOND), limit_deg * (1.0 + LEAST_BEYOND)
    beyond = part >= max(float(part[first_beyond]), LEAST_PART)
    turned = np.where(beyond, np.maximum(angle, most), np.minimum(angle, least))
    return [round(float(one), 6) for one in turned]


class _Chooser:
    """Exposures that are still whole, and what happens to the others."""

    def __init__(self, exposures: Sequence[Exposure], random: np.random.Generator) -> None:
        self.exposures, self.random = exposures, random
        self.faults: list[Fault | None] = [None] * len(exposures)

    def _count(self, share: float) -> int:
        """How many exposures a share is: at least one, but none where most have a fault already."""
        return min(max(1, round(share * len(self.faults))), self._room())

    def _room(self) -> int:
        """How many exposures more may have a fault of their own."""
        faulty = sum(fault is not None for fault in self.faults)
        return int(MOST_FAULTY * len(self.faults)) - faulty

    def _whole(self) -> list[int]:
        return [number for number, fault in enumerate(self.faults) if fault is None]

    def _meet(self, fault: Fault, numbers: Sequence[int]) -> None:
        for number in numbers:
            self.faults[number] = fault

    def single(self, fault: Fault, share: float) -> None:
        """Exposures here and there."""
        whole, count = self._whole(), self._count(share)
        if count > 0 and whole:
            chosen = self.random.choice(whole, min(count, len(whole)), replace=False)
            self._meet(fault, [int(number) for number in chosen])

    def run(self, fault: Fault, share: float) -> None:
        """Exposures that follow each other, as far as they are whole."""
        whole, count = self._whole(), self._count(share)
        if count > 0 and whole:
            begin = int(self.random.integers(max(1, len(whole) - count)))
            self._meet(fault, whole[begin : begin + count])

    def end_of_an_evening(self, fault: Fault, share: float) -> None:
        """From some exposure on until the morning."""
        count = self._count(share)
        evenings = [list(group) for _, group in groupby(self._whole(), key=self._evening)]
        if count > 0:
            evening = evenings[int(self.random.integers(len(evenings)))]
            self._meet(fault, evening[-min(count, max(1, len(evening) // 2)) :])

    def _evening(self, number: int) -> int:
        return self.exposures[number].evening.toordinal()

    def stack(self) -> tuple[int, ...]:
        """Whole exposures of one entry, two at least, that came back as one."""
        entries: dict[int, list[int]] = {}
        for number in self._whole():
            entries.setdefault(self.exposures[number].entry, []).append(number)
        several, most = [numbers for numbers in entries.values() if len(numbers) > 1], self._room()
        if not several or most < 2:
            return ()
        numbers, length = several[int(self.random.integers(len(several)))], min(STACKED, most)
        begin = int(self.random.integers(max(1, len(numbers) - length + 1)))
        run = tuple(numbers[begin : begin + length])
        self._meet("stack", run)
        return run

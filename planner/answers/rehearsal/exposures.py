"""Every exposure of a timetable, one after the other."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from planner.answers.nights import NightsPlan
from planner.checks import require
from planner.errors import InputError
from planner.geometry.looking import Looking
from planner.night.timetable import Block
from planner.night.workload import exposure_expected_s
from planner.request.request import Request

__all__ = ["Exposure", "check_rehearsal", "timetable_exposures"]


@dataclass(frozen=True)
class Exposure:
    """One exposure of a timetable.

    Parameters
    ----------
    evening : datetime.date
    entry : int
        Which of the timetable's entries it belongs to, from 0.
    panel, chosen : int
        Indices of panel and filter.
    number : int
        Among the exposures of its panel and filter, from 1.
    start_s : int
        POSIX seconds, UTC.
    exposure_s : float
    looking : {'east', 'west'} or None
        To which side the telescope looks; None for a mount that never flips.
    """

    evening: dt.date
    entry: int
    panel: int
    chosen: int
    number: int
    start_s: int
    exposure_s: float
    looking: Looking | None


def check_rehearsal(request: Request) -> None:
    """Refuse a request that has no timetable.

    Raises
    ------
    InputError
        If it has no filters.
    """
    if not request.filters:
        raise InputError(
            "a rehearsal needs a timetable, which needs filters; add [[filters]] to the plan file or its setup"
        )


def timetable_exposures(nights: NightsPlan, evenings: int | None = None) -> tuple[Exposure, ...]:
    """Exposures of the first evenings that have any, by their start.

    Parameters
    ----------
    nights : NightsPlan
    evenings : int, optional
        How many; left out, all.

    Raises
    ------
    InputError
        If the plan has no filters, or the season holds no exposure.
    """
    require(evenings is None or evenings >= 1, f"the number of nights must be at least 1, got {evenings}")
    check_rehearsal(nights.plan.request)
    blocks = nights.timetable.blocks if nights.timetable else ()
    if not blocks:
        raise InputError(
            "nothing of the plan can be shot in its season, so there is nothing to rehearse; "
            "ask nights why, and choose other dates or another site"
        )
    dates = sorted({nights.survey.evenings[block.night].evening.date for block in blocks})[:evenings]
    taken: Counter[tuple[int, int]] = Counter()
    found = [
        exposure
        for entry, block in enumerate(blocks)
        for exposure in _of_block(nights, entry, block, taken)
        if exposure.evening <= dates[-1]
    ]
    return tuple(sorted(found, key=lambda one: (one.start_s, one.entry)))


def _of_block(
    nights: NightsPlan, entry: int, block: Block, taken: Counter[tuple[int, int]]
) -> Iterator[Exposure]:
    """Exposures of one entry: after the overhead of the panel, evenly through the rest of it."""
    survey = nights.survey
    expected_s = float(exposure_expected_s(survey)[block.chosen])
    begin_s = block.start_s + 60.0 * survey.nights.overhead_per_panel_min
    key = block.panel, block.chosen
    for place in range(block.exposures):
        taken[key] += 1
        yield Exposure(
            survey.evenings[block.night].evening.date,
            entry,
            *key,
            taken[key],
            int(begin_s + place * expected_s),
            survey.filters[block.chosen].exposure_s,
            block.looking,
        )

"""The nights of a plan: when its panels can be shot, and the timetable of the season."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from planner.words import listed

if TYPE_CHECKING:
    from planner.night.survey import Survey
    from planner.night.timetable import Timetable
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from numpy.typing import NDArray

from planner.answers.panel_facts import exposures_asked, exposures_wanted, hand_settings, still_to_do
from planner.errors import InputError
from planner.night.survey import Survey, Targets, survey_season
from planner.night.timetable import Goal, Timetable, arrange
from planner.night.unseen import Unseen, unseen_panels
from planner.night.wanderers import Wanderer, find_wanderers
from planner.progress import Progress
from planner.rig.mount import flip_after_s

if TYPE_CHECKING:
    from planner.request.request import Request

    from .plan import Plan

__all__ = ["NightsPlan", "check_nights", "panel_names", "plan_nights", "shortfalls", "targets_of"]

MOST_PANEL_EVENINGS = 400_000
"""Panels times filters times evenings times sites that are planned in one go."""


@dataclass(frozen=True, eq=False)
class NightsPlan:
    """A plan carried through a season.

    Parameters
    ----------
    timetable : Timetable or None
        None where the plan has no filters.
    wanderers : tuple of Wanderer
        Planets and the Moon inside or near panels.
    unseen : tuple of Unseen
        Panels without a window in the season.
    """

    plan: Plan
    survey: Survey
    timetable: Timetable | None
    wanderers: tuple[Wanderer, ...]
    unseen: tuple[Unseen, ...]

    @property
    def falls_short(self) -> bool:
        """Whether exposures are missing, or panels can never be shot."""
        return bool(self.unseen) or (self.timetable is not None and not self.timetable.finished)


def plan_nights(
    plan: Plan,
    *,
    goal: Goal = "soonest",
    done: Mapping[tuple[str, str], int] | None = None,
    progress: Progress | None = None,
) -> NightsPlan:
    """Plan the nights of what is still to do of a plan.

    Parameters
    ----------
    plan : Plan
    goal : {'soonest', 'cheapest'}
    done : mapping, optional
        (panel, filter) to good exposures that exist already; a kept panel has at least what the plan file says.
    progress : Progress, optional

    Raises
    ------
    InputError
        If the plan has no site or no nights, or asks for more than can be planned in one go.
    """
    plan = still_to_do(plan)
    request = plan.request
    check_nights(request, len(plan.mosaic.panels))
    assert request.nights is not None
    survey = survey_season(
        targets_of(plan),
        request.sites,
        request.nights,
        request.filters,
        flip_after_s=flip_after_s(request.mount),
        progress=progress,
    )
    timetable = None
    if request.filters:
        wanted = _wanted(plan, done or {})
        timetable = arrange(survey, goal=goal, wanted=wanted, settings=hand_settings(plan), progress=progress)
    return NightsPlan(plan, survey, timetable, find_wanderers(survey), unseen_panels(survey))


def check_nights(request: Request, panels: int) -> None:
    """Refuse a request whose nights cannot be planned.

    Raises
    ------
    InputError
        If it has no site or no nights, or asks for more than can be planned in one go.
    """
    if not request.sites:
        raise InputError("nights need a site, got none; add [site] to the plan file or its setup file")
    if request.nights is None:
        raise InputError("nights need their dates, got none; add [nights] with first and last evening")
    evenings = len(request.nights.evenings) * len(request.sites)
    size = panels * max(1, len(request.filters)) * evenings
    if size > MOST_PANEL_EVENINGS:
        raise InputError(
            f"panels times filters times evenings must be at most {MOST_PANEL_EVENINGS}, got {size}; "
            "plan a part of the season or of the mosaic at a time"
        )


def targets_of(plan: Plan) -> Targets:
    """Return the panels as far as nights are concerned."""
    panels, field = plan.mosaic.panels, plan.mosaic.field
    radius = float(np.degrees(np.arctan(np.hypot(field.half_width, field.half_height))))
    return Targets(
        tuple(panel.name for panel in panels),
        np.array([panel.ra_deg for panel in panels]),
        np.array([panel.dec_deg for panel in panels]),
        radius,
    )


def _wanted(plan: Plan, done: Mapping[tuple[str, str], int]) -> NDArray[np.int64]:
    """Exposures still to be taken of each panel through each filter."""
    left, asked = (np.array(of(plan), dtype=np.int64) for of in (exposures_wanted, exposures_asked))
    taken = [
        [done.get((panel.name, chosen.name), 0) for chosen in plan.request.filters]
        for panel in plan.mosaic.panels
    ]
    return np.minimum(left, np.maximum(asked - np.array(taken, dtype=np.int64), 0))


NAMED = 8
"""So many names of panels are listed, then how many more there are."""


def shortfalls(nights: NightsPlan) -> Iterator[str]:
    """Say what falls short, one sentence each."""
    yield from _unseen_lines(nights)
    if nights.timetable is not None:
        yield from _missing_lines(nights.survey, nights.timetable)


def panel_names(survey: Survey, panels: Iterable[int]) -> str:
    """Return the names of panels, the first few of them."""
    return listed([survey.targets.names[panel] for panel in panels], NAMED)


def _unseen_lines(nights: NightsPlan) -> Iterator[str]:
    survey = nights.survey
    sites = ", ".join(f"{site.name} (latitude {site.latitude_deg:g})" for site in survey.sites)
    lowest = min(site.lowest_altitude_deg for site in survey.sites)
    season = f"between {survey.nights.first} and {survey.nights.last}"
    for one in nights.unseen:
        panels = panel_names(survey, one.panels)
        yield {
            "low": f"{panels}: never {'rises' if len(one.panels) == 1 else 'rise'} to {lowest:g} degrees at {sites}; "
            f"{_latitudes(one.latitudes_deg, survey.sites[0].latitude_deg)}",
            "hidden": f"{panels}: hidden by the horizon at all times at {sites}; another site is needed",
            "season": f"{panels}: never high enough in the dark {season}; choose other dates or another site",
        }[one.reason]


def _latitudes(found: tuple[float, float], latitude_deg: float) -> str:
    south, north = found
    if south > north:
        return "no latitude shows all of them so high"
    if latitude_deg > north:
        return f"from latitude {north:.1f} southward would do"
    return f"from latitude {south:.1f} northward would do"


def _missing_lines(survey: Survey, timetable: Timetable) -> Iterator[str]:
    """Say what stays undone, and why: one sentence for each filter and reason."""
    rows = sorted(timetable.missing, key=lambda row: (row.chosen, row.reason, row.panel))
    for (chosen, reason), group in groupby(rows, key=lambda row: (row.chosen, row.reason)):
        found = list(group)
        panels = panel_names(survey, [row.panel for row in found])
        count = sum(row.exposures for row in found)
        yield f"missing: {count} exposures through {survey.filters[chosen].name} of {panels}: {reason}"

"""How much moonlight a season's hours have: what an hour through each filter is worth at a dark sky."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.night.brightening import brightening_mag
from planner.night.dark_sky import dark_sky_share, passed_share
from planner.night.survey import Survey, survey_season
from planner.rig.mount import flip_after_s

from .nights import targets_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.night.settings import Site

    from .plan import Plan

__all__ = ["season_shares"]

SAMPLE_S = 900.0


def season_shares(plan: Plan, sites: Sequence[Site]) -> tuple[float, ...] | None:
    """Hours at a dark sky that an hour through each filter is worth, on average over a season.

    The mean goes over every hour of the season in which a panel may be shot through the filter: in the dark, high
    enough, within the filter's rule on the Moon.

    Parameters
    ----------
    plan : Plan
    sites : sequence of Site
        Those at which it is shot.

    Returns
    -------
    tuple of float, or None
        For each filter of the plan, in (0, 1]; None without sites, nights or filters, or where a filter has no hour.
    """
    request = plan.request
    if not (sites and request.nights and request.filters):
        return None
    survey = survey_season(
        targets_of(plan), sites, request.nights, request.filters, flip_after_s=flip_after_s(request.mount)
    )
    worth, hours = _sums(survey)
    return None if (hours == 0.0).any() else tuple((worth / hours).tolist())


def _sums(survey: Survey) -> NDArray[np.float64]:
    """Time through each filter, as it is worth and as it is, shape (2, filters), in samples."""
    passed = np.array([passed_share(one) for one in survey.filters])
    sums = np.zeros((2, len(passed)))
    for night, evening in enumerate(survey.evenings):
        if not evening.segments:
            continue
        spans = np.array([(one.panel, one.chosen, one.start_s, one.end_s) for one in evening.segments])
        counts = np.ceil((spans[:, 3] - spans[:, 2]) / SAMPLE_S).astype(np.intp)
        row = np.repeat(np.arange(len(spans)), counts)
        place = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
        step_s = (spans[:, 3] - spans[:, 2]) / counts
        time = spans[row, 2] + (place + 0.5) * step_s[row]
        chosen = spans[row, 1]
        share = dark_sky_share(brightening_mag(survey, night, spans[row, 0], time), passed[chosen])
        for kind, weight in enumerate((share * step_s[row], step_s[row])):
            sums[kind] += np.bincount(chosen, weight, minlength=len(passed))
    return sums

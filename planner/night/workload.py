"""The work of a season as arrays: what is wanted, what it takes, and where it may lie.

A *job* is one panel through one filter: index `panel * filters + filter`. A *block* is a run of exposures of
one job; it takes the overhead of a panel and then, for each exposure, the time that the exposure with its own
overhead is expected to take under cloud: (exposure + overhead) / clear fraction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .survey import SiteEvening, Survey

__all__ = ["Opening", "Workload", "exposure_expected_s", "make_workload"]

Values = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True)
class Opening:
    """The segments of one evening at one site that can hold a block worth its overhead.

    Parameters
    ----------
    job : ndarray of int, shape (S,)
    start_s, end_s : ndarray, shape (S,)
    transit_s : ndarray, shape (S,)
        The panel's transit on that evening.
    west : ndarray of bool, shape (S,)
        Whether the telescope looks west, as it always does on a mount that never flips.
    most : ndarray, shape (S,)
        Most exposures that the segment holds in one block.
    """

    job: Indices
    start_s: Values
    end_s: Values
    transit_s: Values
    west: NDArray[np.bool_]
    most: Values


@dataclass(frozen=True)
class Workload:
    """The work of a season; make it with `make_workload`.

    Parameters
    ----------
    wanted : ndarray, shape (J,)
        Exposures of each job still to be taken, as far as any segment of the season holds a block of it.
    hopeless : ndarray, shape (J,)
        Exposures of the jobs that no segment holds.
    exposure_s : ndarray, shape (J,)
        Expected time of one exposure, overhead and cloud included.
    least : ndarray, shape (J,)
        Least exposures of a block, and of what it leaves for another, unless the job wants less in all.
    most : ndarray, shape (J,)
        Most exposures that any segment of the season holds in one block; 0 where there is none.
    overhead_s : float
        Of a block.
    filters : int
    openings : tuple of Opening
        One for each of the survey's evenings.
    """

    wanted: Values
    hopeless: Values
    exposure_s: Values
    least: Values
    most: Values
    overhead_s: float
    filters: int
    openings: tuple[Opening, ...]

    def work_s(self, left: Values) -> Values:
        """Least time that exposures left of each job will still take, shape (J,)."""
        return left * self.exposure_s + self.overhead_s * np.ceil(left / np.maximum(self.most, 1.0))


def exposure_expected_s(survey: Survey) -> Values:
    """Give the expected time of one exposure of each filter, seconds, shape (F,)."""
    nights = survey.nights
    whole = [chosen.exposure_s + nights.overhead_per_exposure_s for chosen in survey.filters]
    return np.array(whole) / nights.clear_fraction


def make_workload(survey: Survey, wanted: NDArray[np.int64]) -> Workload:
    """Sum up the work of a season.

    Parameters
    ----------
    wanted : ndarray of int, shape (N, F)
        Exposures still to be taken of each panel through each filter.
    """
    panels, filters = survey.targets.names, survey.filters
    asked: Values = np.asarray(wanted, dtype=float).ravel()
    exposure_s = np.tile(exposure_expected_s(survey), len(panels))
    block_min = survey.nights.least_block_min
    least = np.array([math.ceil(60.0 * block_min / chosen.exposure_s) for chosen in filters], dtype=float)
    least = np.maximum(1.0, np.tile(least, len(panels)))
    overhead_s = 60.0 * survey.nights.overhead_per_panel_min
    openings = tuple(
        _opening(one, len(filters), asked, exposure_s, least=least, overhead_s=overhead_s)
        for one in survey.evenings
    )
    most = np.zeros(len(asked))
    for opening in openings:
        np.maximum.at(most, opening.job, opening.most)
    possible = np.where(most > 0, asked, 0.0)
    return Workload(possible, asked - possible, exposure_s, least, most, overhead_s, len(filters), openings)


def _opening(
    one: SiteEvening, filters: int, wanted: Values, exposure_s: Values, *, least: Values, overhead_s: float
) -> Opening:
    rows = one.segments
    job = np.array([row.panel * filters + row.chosen for row in rows], dtype=np.int64)
    start = np.array([row.start_s for row in rows], dtype=float)
    end = np.array([row.end_s for row in rows], dtype=float)
    transit = one.sight.transit_s[np.array([row.panel for row in rows], dtype=np.int64)]
    west = np.array([row.looking != "east" for row in rows], dtype=bool)
    most = np.minimum(wanted[job], np.floor((end - start - overhead_s) / exposure_s[job] + 1e-12))
    keep = (most > 0) & (most >= np.minimum(wanted[job], least[job]))
    return Opening(job[keep], start[keep], end[keep], transit[keep], west[keep], most[keep])

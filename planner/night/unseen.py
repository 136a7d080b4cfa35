"""Why a panel has no window in a season, and from where it would have one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from .rising import hours_in_reach
from .settings import Site
from .survey import Survey

__all__ = ["Unseen", "greatest_altitude_deg", "latitudes_deg", "unseen_panels"]

REASONS: tuple[Literal["low", "hidden", "season"], ...] = ("low", "hidden", "season")


@dataclass(frozen=True)
class Unseen:
    """Panels without a window in the season, and why.

    Parameters
    ----------
    panels : tuple of int
    reason : {'low', 'hidden', 'season'}
        They stay below the lowest altitude at every site, in any season; or they rise so high but the horizon
        hides them; or they stand high enough only by day on these dates.
    latitudes_deg : (float, float)
        From the first to the second latitude all of them reach the lowest altitude; the first may exceed the
        second: then no latitude shows all.
    """

    panels: tuple[int, ...]
    reason: Literal["low", "hidden", "season"]
    latitudes_deg: tuple[float, float]


def greatest_altitude_deg(site: Site, dec_deg: float) -> float:
    """Altitude of the upper transit, degrees.

    >>> greatest_altitude_deg(Site(52.0, 0.0), -45.0)
    -7.0
    """
    return 90.0 - abs(site.latitude_deg - dec_deg)


def latitudes_deg(dec_deg: Sequence[float], lowest_altitude_deg: float) -> tuple[float, float]:
    """Range of latitudes from which all declinations reach an altitude, degrees.

    >>> latitudes_deg([-45.0, -40.0], 30.0)
    (-90.0, 15.0)
    """
    reach = 90.0 - lowest_altitude_deg
    return max(-90.0, max(dec_deg) - reach), min(90.0, min(dec_deg) + reach)


def unseen_panels(survey: Survey) -> tuple[Unseen, ...]:
    """Panels that have no window on any evening at any site, by reason."""
    seen = {int(panel) for one in survey.evenings for panel in np.unique(one.sight.panel)}
    unseen = [panel for panel in range(len(survey.targets)) if panel not in seen]
    reasons = {panel: _reason(survey, panel) for panel in unseen}
    lowest = min(site.lowest_altitude_deg for site in survey.sites)
    found = []
    for reason in REASONS:
        panels = tuple(panel for panel in unseen if reasons[panel] == reason)
        if panels:
            decs = survey.targets.dec_deg[list(panels)].tolist()
            found.append(Unseen(panels, reason, latitudes_deg(decs, lowest)))
    return tuple(found)


def _reason(survey: Survey, panel: int) -> Literal["low", "hidden", "season"]:
    dec = float(survey.targets.dec_deg[panel])
    if any(hours_in_reach(site, [dec])[0] > 0.0 for site in survey.sites):
        return "season"
    high = any(greatest_altitude_deg(site, dec) >= site.lowest_altitude_deg for site in survey.sites)
    return "hidden" if high else "low"

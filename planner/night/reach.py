"""Why a panel has no window in a season, and from where it would have one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .settings import Site
from .survey import Survey

__all__ = ["Unseen", "greatest_altitude_deg", "latitudes_deg", "unseen_panels"]


@dataclass(frozen=True)
class Unseen:
    """Panels without a window in the season, and why.

    Parameters
    ----------
    panels : tuple of int
    never_rises : bool
        Whether they stay below the lowest altitude at every site, in any season.
    latitudes_deg : (float, float)
        From the first to the second latitude all of them reach the lowest altitude; the first may exceed the
        second: then no latitude shows all.
    """

    panels: tuple[int, ...]
    never_rises: bool
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
    """Panels that have no window on any evening at any site: first those that never rise."""
    seen = {int(panel) for one in survey.evenings for panel in np.unique(one.sight.panel)}
    unseen = [panel for panel in range(len(survey.targets)) if panel not in seen]
    never = [panel for panel in unseen if not _rises(survey, panel)]
    groups = ((tuple(never), True), (tuple(panel for panel in unseen if panel not in never), False))
    lowest = min(site.lowest_altitude_deg for site in survey.sites)
    return tuple(
        Unseen(panels, rises_not, latitudes_deg(survey.targets.dec_deg[list(panels)].tolist(), lowest))
        for panels, rises_not in groups
        if panels
    )


def _rises(survey: Survey, panel: int) -> bool:
    dec = float(survey.targets.dec_deg[panel])
    return any(greatest_altitude_deg(site, dec) >= site.lowest_altitude_deg for site in survey.sites)

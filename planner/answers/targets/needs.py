"""What a target needs: panels at its best angle and at the present one, and the least that its exposures cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.answers.fit import ARCMIN, HOLDS
from planner.halves import in_halves
from planner.mosaic.region import Part, Region
from planner.night.many import SeasonHours
from planner.night.prices import price_at
from planner.night.settings import Filter, Nights, Site
from planner.progress import Progress
from planner.request.region import RegionRequest
from planner.request.request import Request, Setup

from .frames import Framed, Framing
from .rows import rows_needed
from .sky import Thing
from .wish import TargetWish

__all__ = ["Needs", "least_cost", "panels_of"]

Needs = tuple[int | None, int | None]
"""Panels at the best angle and at the present one; None where they are not counted."""


def panels_of(
    setup: Setup,
    wish: TargetWish,
    framing: Framing,
    things: Sequence[tuple[Thing, ...]],
    frames: Sequence[Framed],
    *,
    progress: Progress | None = None,
) -> list[Needs]:
    """Return the panels that each nebula or group needs; None at the best angle where they are more than asked for.

    Parameters
    ----------
    setup : Setup
    wish : TargetWish
    framing : Framing
    things : sequence of tuple of Thing
        One each, or a group's members.
    frames : sequence of Framed
        Of each of them.
    progress : callable, optional
    """

    def work(pairs: Sequence[tuple[tuple[Thing, ...], Framed]], here: bool) -> list[Needs]:
        found = []
        for number, (members, framed) in enumerate(pairs):
            if progress is not None and here and not framed.fits:
                progress("counting panels", number / len(pairs))
            found.append(_needs(setup, wish, framing, members, framed))
        return found

    return in_halves(work, list(zip(things, frames, strict=True)), least=200)


def _needs(
    setup: Setup, wish: TargetWish, framing: Framing, things: tuple[Thing, ...], framed: Framed
) -> Needs:
    if framed.fits:
        best: int | None = 1
    elif wish.panels == 1 or things[0].area_deg2 > wish.panels * framing.field.area_deg2:
        return None, None
    else:
        best = _in_rows(setup, framing, things, None)
        if best > wish.panels:
            return None, None
    margin = framed.margin_now_arcmin
    if margin is None:
        return best, None
    return best, 1 if margin >= HOLDS * ARCMIN else _in_rows(setup, framing, things, framing.now_deg)


def _in_rows(setup: Setup, framing: Framing, things: tuple[Thing, ...], angle_deg: float | None) -> int:
    """Panels in rows: at least two, as one frame is too small."""
    assert setup.camera is not None
    request = Request(
        title=things[0].nebula.name, camera=setup.camera, region=RegionRequest(object=things[0].nebula.name)
    )
    parts = [Part(one.nebula.name, Region.from_rings(one.rings)) for one in things]
    region = parts[0].region if len(parts) == 1 else Region.from_parts(parts)
    return max(2, rows_needed(setup, request, region, angle_deg, framing.arcs_deg))


def least_cost(
    setup: Setup, nights: Nights, hours: SeasonHours, row: int, panels: int | None
) -> float | None:
    """Return the least that all exposures of all panels can cost in the season.

    Each filter takes the cheapest of its hours; hours that several filters want are not shared out among them, so
    a timetable may cost more.

    Returns
    -------
    float or None
        None without prices or filters, or where a filter's hours do not do.
    """
    if panels is None or not setup.filters or len(setup.sites) != 1 or not setup.sites[0].hour_price:
        return None
    prices = _prices(setup.sites[0], tuple(hours.illumination.tolist()))
    costs = [
        _cheapest(hours.filter_s[k, row] / 3600.0, prices, panels * _hours_needed(one, nights))
        for k, one in enumerate(setup.filters)
    ]
    return None if any(math.isinf(one) for one in costs) else float(sum(costs))


@lru_cache(maxsize=8)
def _prices(site: Site, illumination: tuple[float, ...]) -> NDArray[np.float64]:
    return np.array([price_at(site, light) for light in illumination])


def _hours_needed(chosen: Filter, nights: Nights) -> float:
    """Hours that one panel's exposures through a filter are expected to take, in one block."""
    each = chosen.exposure_s + nights.overhead_per_exposure_s
    return (chosen.exposures * each / 3600.0 + nights.overhead_per_panel_min / 60.0) / nights.clear_fraction


def _cheapest(hours: NDArray[np.float64], prices: NDArray[np.float64], needed: float) -> float:
    """Cost of so many hours, the cheapest first; infinite where there are too few."""
    if hours.sum() < needed:
        return math.inf
    order = np.argsort(prices, kind="stable")
    taken = np.diff(np.minimum(np.cumsum(hours[order]), needed), prepend=0.0)
    return float(taken @ prices[order])

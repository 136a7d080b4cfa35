"""From what fits to what is listed: targets with their hours, of those that rise in the dark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.night.many import SeasonHours
from planner.night.settings import Nights
from planner.night.unseen import greatest_altitude_deg
from planner.request.request import Request, Setup

from .done import planned_as
from .frames import Framed
from .needs import Needs, least_cost
from .sky import Thing
from .target import Target

__all__ = ["Candidate", "listed"]

ANY = "any"
"""What hours are called where the setup has no filters."""
GROUP = "group"


@dataclass(frozen=True, eq=False)
class Candidate:
    """What the field can frame: a nebula or a group.

    Parameters
    ----------
    things : tuple of Thing
        One, or a group's members, the largest first.
    framed : Framed
    needs : (int or None, int or None)
        Panels at the best angle and at the present one.
    """

    things: tuple[Thing, ...]
    framed: Framed
    needs: Needs

    @property
    def area_deg2(self) -> float:
        """Sum of the areas."""
        return sum(one.area_deg2 for one in self.things)


def listed(
    setup: Setup, nights: Nights, candidates: Sequence[Candidate], hours: SeasonHours, done: Sequence[Request]
) -> list[Target]:
    """Return the targets of those candidates that stand above the limits in the dark on some evening.

    Parameters
    ----------
    setup : Setup
    nights : Nights
    candidates : sequence of Candidate
    hours : SeasonHours
        Of their frames' centres.
    done : sequence of Request
        Plans that exist.
    """
    rows = np.flatnonzero(hours.any_s.any(axis=1)).tolist()
    marks = planned_as([candidates[row].things for row in rows], done)
    return [
        _target(setup, nights, candidates[row], hours, row, mark)
        for row, mark in zip(rows, marks, strict=True)
    ]


def _target(
    setup: Setup, nights: Nights, candidate: Candidate, hours: SeasonHours, row: int, mark: str | None
) -> Target:
    framed, (panels, panels_now) = candidate.framed, candidate.needs
    evening_hours = _evening_hours(hours, row)
    filters = [one.name for one in setup.filters] or [ANY]
    dec_deg = float(hours.dec_deg[row])
    return Target(
        **_names(candidate.things),
        center_deg=framed.placement.center_deg,
        margin_arcmin=framed.margin_arcmin,
        position_angle_deg=framed.placement.position_angle_deg,
        fits_at_deg=framed.fits_at_deg,
        area_deg2=candidate.area_deg2,
        hours=dict(zip(filters, evening_hours.sum(axis=1).tolist(), strict=True)),
        evening_hours=evening_hours,
        greatest_altitude_deg=max(greatest_altitude_deg(site, dec_deg) for site in setup.sites),
        panels=panels,
        margin_now_arcmin=framed.margin_now_arcmin,
        panels_now=panels_now,
        cost=least_cost(setup, nights, hours, row, panels),
        planned_as=mark,
    )


def _names(things: tuple[Thing, ...]) -> dict[str, Any]:
    indices = tuple(one.nebula.index for one in things)
    if len(things) == 1:
        nebula = things[0].nebula
        return {
            "name": nebula.name,
            "names": nebula.names,
            "kind": nebula.kind,
            "nebulae": indices,
            "parts": (),
        }
    parts = tuple(one.nebula.name for one in things)
    name = " and ".join(parts[:2]) + (f" and {len(parts) - 2} more" if len(parts) > 2 else "")
    return {"name": name, "names": (name,), "kind": GROUP, "nebulae": indices, "parts": parts}


def _evening_hours(hours: SeasonHours, row: int) -> NDArray[np.float64]:
    seconds = hours.filter_s[:, row] if len(hours.filter_s) else hours.any_s[None, row]
    return np.asarray(seconds / 3600.0)

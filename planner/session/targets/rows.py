"""Which targets of a list a page shows, and in what order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from planner.catalogue.nebulae.spelling import loose_key

if TYPE_CHECKING:
    from planner.answers.targets.target import Target, TargetList
    from planner.mosaic.panel import Field

__all__ = ["ORDERS", "RowWish", "narrowed", "smallest_shown_arcmin"]

ORDERS = ("area", "hours", "margin", "name")
SHARE, STEP_ARCMIN = 0.25, 5.0
"""Targets smaller than this share of the field's short side are left out at first; rounded to this."""
GROUP = "group"


@dataclass(frozen=True)
class RowWish:
    """What the user wants to see.

    Parameters
    ----------
    text : str
        A piece of a name, in any spelling.
    kinds : tuple of str
        Only these; all where empty.
    smallest_arcmin : float
        Only nebulae at least so wide; groups are not measured.
    least_hours : float
        Only what can be shot for so long in the season.
    groups : bool
        Groups of nebulae too.
    order : {'area', 'hours', 'margin', 'name'}
        The largest first, but what no angle frames with the margin asked for last; or by name.
    """

    text: str = ""
    kinds: tuple[str, ...] = ()
    smallest_arcmin: float = 0.0
    least_hours: float = 0.0
    groups: bool = True
    order: str = "area"


def smallest_shown_arcmin(field: Field) -> float:
    """Return the size that is asked for at first: a quarter of the field's short side.

    >>> from planner.mosaic.panel import Field
    >>> smallest_shown_arcmin(Field(3.52, 2.35))
    35.0
    """
    return round(SHARE * 60 * min(field.width_deg, field.height_deg) / STEP_ARCMIN) * STEP_ARCMIN


def narrowed(found: TargetList, wish: RowWish) -> TargetList:
    """Return the targets that a wish leaves, in its order."""
    sizes, wanted = _diameters_arcmin(), loose_key(wish.text) if wish.text.strip() else ""
    left = [one for one in found.targets if _is_wanted(one, wish, wanted, sizes)]
    keys = {
        "area": lambda one: (not one.fits_at_deg, -one.area_deg2, one.name),
        "hours": lambda one: (not one.fits_at_deg, -one.most_hours, one.name),
        "margin": lambda one: (not one.fits_at_deg, -one.margin_arcmin, one.name),
        "name": lambda one: (one.name,),
    }
    return replace(found, targets=tuple(sorted(left, key=keys[wish.order])))


def _is_wanted(one: Target, wish: RowWish, text: str, sizes: dict[int, float]) -> bool:
    if one.is_group:
        if not wish.groups:
            return False
    elif sizes.get(one.nebulae[0], 0.0) < wish.smallest_arcmin:
        return False
    named: Iterable[str] = (*one.names, *one.parts)
    return (
        (not wish.kinds or one.kind in wish.kinds)
        and one.most_hours >= wish.least_hours
        and (not text or any(text in loose_key(name) for name in named))
    )


@cache
def _diameters_arcmin() -> dict[int, float]:
    """Return how wide each nebula is, by its index in the catalogue's data."""
    from planner.answers.targets.sky import all_things

    return {thing.nebula.index: thing.diameter_arcmin for thing in all_things()}

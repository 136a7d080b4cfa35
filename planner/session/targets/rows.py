"""Which targets of a list a page shows, and in what order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from planner.catalogue.nebulae.spelling import loose_key

if TYPE_CHECKING:
    from planner.answers.targets.target import Target, TargetList
    from planner.mosaic.panel import Field

__all__ = ["ORDERS", "RowWish", "left_out", "narrowed", "smallest_shown_arcmin"]

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
    tests = _tests(wish)
    left = [one for one in found.targets if all(is_wanted(one) for _, is_wanted in tests)]
    keys = {
        "area": lambda one: (not one.fits_at_deg, -one.area_deg2, one.name),
        "hours": lambda one: (not one.fits_at_deg, -one.most_hours, one.name),
        "margin": lambda one: (not one.fits_at_deg, -one.margin_arcmin, one.name),
        "name": lambda one: (one.name,),
    }
    return replace(found, targets=tuple(sorted(left, key=keys[wish.order])))


def left_out(found: TargetList, wish: RowWish) -> tuple[tuple[int, str], ...]:
    """Return how many targets a wish leaves out, and why: each counts what the one before it left."""
    left, counts = list(found.targets), []
    for words, is_wanted in _tests(wish):
        before, left = len(left), [one for one in left if is_wanted(one)]
        counts.append((before - len(left), words))
    return tuple((count, words) for count, words in counts if count)


def _tests(wish: RowWish) -> Sequence[tuple[str, Callable[[Target], bool]]]:
    """Return what a target must be, each with words for those that are not."""
    sizes, text = _diameters_arcmin(), loose_key(wish.text) if wish.text.strip() else ""
    return (
        ("groups", lambda one: wish.groups or not one.is_group),
        (
            f"below {wish.smallest_arcmin:g} arc minutes",
            lambda one: one.is_group or sizes.get(one.nebulae[0], 0.0) >= wish.smallest_arcmin,
        ),
        ("of other kinds", lambda one: not wish.kinds or one.kind in wish.kinds),
        (f"with fewer hours than {wish.least_hours:g}", lambda one: one.most_hours >= wish.least_hours),
        (
            "of other names",
            lambda one: not text or any(text in loose_key(name) for name in (*one.names, *one.parts)),
        ),
    )


@cache
def _diameters_arcmin() -> dict[int, float]:
    """Return how wide each nebula is, by its index in the catalogue's data."""
    from planner.answers.targets.sky import all_things

    return {thing.nebula.index: thing.diameter_arcmin for thing in all_things()}

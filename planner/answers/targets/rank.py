"""The order of targets in a list."""

from __future__ import annotations

import math
from collections.abc import Iterable

from .target import Target
from .wish import TargetWish

__all__ = ["ranked"]

EQUAL = 4
"""Areas (square degrees) and margins (arc minutes) that agree in so many decimals are equal."""


def ranked(targets: Iterable[Target], wish: TargetWish) -> tuple[Target, ...]:
    """Return targets in the order asked for: most area, margin or time first, or the least cost.

    Of equals the larger one comes first, then they go by name.

    By margin the camera's present angle counts where there is one.
    """
    return tuple(sorted(targets, key=lambda one: (_rank(one, wish), _area_rank(one), one.name)))


def _rank(target: Target, wish: TargetWish) -> float:
    if wish.by == "margin":
        now = target.margin_now_arcmin
        return -round(target.margin_arcmin if now is None else now, EQUAL)
    if wish.by == "time":
        return -target.most_hours
    if wish.by == "cost":
        return math.inf if target.cost is None else target.cost
    return _area_rank(target)


def _area_rank(target: Target) -> float:
    return -round(target.area_deg2, EQUAL)

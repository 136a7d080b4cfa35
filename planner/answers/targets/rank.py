"""The order of targets in a list."""

from __future__ import annotations

import math
from collections.abc import Iterable

from .target import Target
from .wish import TargetWish

__all__ = ["ranked"]


def ranked(targets: Iterable[Target], wish: TargetWish) -> tuple[Target, ...]:
    """Return targets in the order asked for: most area, margin or time first, or the least cost.

    Of equals the larger one comes first, then they go by name.

    By margin the camera's present angle counts where there is one.
    """
    return tuple(sorted(targets, key=lambda one: (_rank(one, wish), -one.area_deg2, one.name)))


def _rank(target: Target, wish: TargetWish) -> float:
    if wish.by == "margin":
        now = target.margin_now_arcmin
        return -(target.margin_arcmin if now is None else now)
    if wish.by == "time":
        return -target.most_hours
    if wish.by == "cost":
        return math.inf if target.cost is None else target.cost
    return -target.area_deg2

"""The same region asked of several setups: panels, hours, cost and print of each, and what one cannot do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.plan import Plan

__all__ = ["SetupAnswer"]


@dataclass(frozen=True, eq=False)
class SetupAnswer:
    """What one setup gives.

    Parameters
    ----------
    name : str
        The setup's title, or its file's name.
    scale_arcsec_px : float
    plan : Plan or None
        At the best angle that the device can be set to; None where there is no plan.
    exposure_hours, overhead_hours : float or None
        None without filters, or where the region is never in sight.
    cost : (float, float) or None
        At the cheapest and at the dearest hour price.
    print_width_cm : float or None
    cannot : tuple of str
        What the setup cannot do, one sentence each.
    """

    name: str
    scale_arcsec_px: float
    plan: Plan | None = None
    exposure_hours: float | None = None
    overhead_hours: float | None = None
    cost: tuple[float, float] | None = None
    print_width_cm: float | None = None
    cannot: tuple[str, ...] = ()

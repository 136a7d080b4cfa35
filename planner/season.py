"""One camera angle, or a few, for all targets of a season: the fewest panels in total.

Every turn of a hand-set adjuster costs a visit. The angles that the device can be set to are few; which of them
serve best, and which target goes with which, is solved exactly over what the targets need at each.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.plan import Plan
    from planner.request import SeasonRequest

__all__ = ["SeasonAngle", "SeasonPlan", "SeasonTarget"]


@dataclass(frozen=True, eq=False)
class SeasonTarget:
    """One target of a season, planned at the angle that it goes with.

    Parameters
    ----------
    plan : Plan
        Made and proven at that angle.
    panels_at_own_best_angle : int
        The fewest found at any angle that the device can be set to.
    own_best_angle_deg : float
        Degrees east of north, in [0, 360).
    """

    plan: Plan
    panels_at_own_best_angle: int
    own_best_angle_deg: float

    @property
    def title(self) -> str:
        """The plan's title."""
        return self.plan.request.title

    @property
    def panels(self) -> int:
        """Panels at the season's angle."""
        return len(self.plan.mosaic.panels)


@dataclass(frozen=True)
class SeasonAngle:
    """One angle of a season.

    Parameters
    ----------
    position_angle_deg : float
        Degrees east of north, in [0, 360).
    reading_deg : float or None
        On the device's scale; None without a device.
    targets : tuple of int
        Which targets go with it, in the order of work.
    """

    position_angle_deg: float
    reading_deg: float | None
    targets: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class SeasonPlan:
    """A season's angles, in the order of work, and its targets, in the order of the season file."""

    request: SeasonRequest
    angles: tuple[SeasonAngle, ...]
    targets: tuple[SeasonTarget, ...]
    notes: tuple[str, ...] = ()

    @property
    def panels_total(self) -> int:
        """Panels of all targets at the season's angles."""
        return sum(target.panels for target in self.targets)

    @property
    def panels_total_free(self) -> int:
        """Panels of all targets, each at its own best angle."""
        return sum(target.panels_at_own_best_angle for target in self.targets)

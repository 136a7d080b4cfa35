"""Panels that a plan file lists itself: exactly these, or those among them that stay while others are added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.checks import (
    check_position,
    check_position_angle,
    check_positive,
    check_title,
    check_unique,
    check_within,
    require,
)
from planner.mosaic.naming import grid_place
from planner.mosaic.panel import Field, Panel
from planner.night.settings import Filter

__all__ = ["PanelRequest", "check_listed", "listed_panels"]


@dataclass(frozen=True)
class PanelRequest:
    """One pointing that a plan file lists.

    Parameters
    ----------
    name : str
    ra_deg, dec_deg : float
        Centre, ICRS degrees.
    position_angle_deg : float
        Of the frame's up direction at the centre, degrees east of north.
    order : int, optional
        Of shooting, from 1 on, for all panels or none; left out, they are shot as they are listed.
    exposures : dict of str to int, optional
        What remains to be shot, by filter name; a filter that is not named has 0. Left out, every filter's own
        number.
    keep : bool
        Whether the panel stays where it is while the search adds the fewest others, and the panels without this go.
    taken : dict of str to int, optional
        Good exposures that a kept panel has already, by filter name.
    field_deg : (float, float), optional
        Width and height of what a kept panel's frames show, where that is not the camera's field; it wants no
        exposures unless it lists some.
    """

    name: str
    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    order: int | None = None
    exposures: dict[str, int] | None = None
    keep: bool = False
    taken: dict[str, int] | None = None
    field_deg: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        check_title(self.name)
        check_position("panels", (self.ra_deg, self.dec_deg))
        check_position_angle("panels.position_angle_deg", self.position_angle_deg)
        if self.order is not None:
            check_within("panels.order", self.order, 1, 20_000, "give a whole number")
        for key in ("exposures", "taken"):
            for name, count in (getattr(self, key) or {}).items():
                check_within(f"panels.{key}.{name}", count, 0, 100_000, "give a whole number")
        for key in ("taken", "field_deg"):
            require(
                self.keep or getattr(self, key) is None,
                f"panels.{key} of {self.name!r} belongs to a panel that stays; add keep = true, or leave it out",
            )
        for size in self.field_deg or ():
            check_positive("panels.field_deg", size, 120.0, "give width and height in degrees")

    @property
    def field(self) -> Field | None:
        """What the panel's frames show, where that is not the camera's field."""
        return None if self.field_deg is None else Field(*self.field_deg)

    def wanted(self, filter_name: str, usual: int) -> int:
        """Exposures wanted through a filter in all, given the filter's own number; ground of frames wants none."""
        if self.field_deg is not None and self.exposures is None:
            return 0
        return usual if self.exposures is None else self.exposures.get(filter_name, 0)

    def still_wants(self, filters: Sequence[Filter]) -> bool:
        """Whether exposures are still to be taken; a kept panel of a plan without filters has all that it needs."""
        return any(self.wanted(one.name, one.exposures) > self.had(one.name) for one in filters)

    def had(self, filter_name: str) -> int:
        """Good exposures through a filter that the panel has already."""
        return (self.taken or {}).get(filter_name, 0)


def listed_panels(asked: Sequence[PanelRequest]) -> tuple[Panel, ...]:
    """Panels as they are listed; row and column follow from names such as ``B3``, else they count in one row.

    >>> [(p.row, p.column) for p in listed_panels([PanelRequest("B3", 1, 2, 3), PanelRequest("east", 1, 2, 3)])]
    [(2, 3), (1, 2)]
    """
    panels = []
    for number, one in enumerate(asked, start=1):
        order = one.order or number
        row, column = grid_place(one.name) or (1, number)
        angle_deg = one.position_angle_deg % 360.0
        place = row, column, one.ra_deg % 360.0, one.dec_deg, angle_deg
        panels.append(Panel(one.name, order, *place, kept=one.keep, field=one.field))
    return tuple(panels)


def check_listed(asked: Sequence[PanelRequest], filters: Sequence[str]) -> None:
    """Refuse names used twice, orders that do not count all, exposures through filters that the plan lacks."""
    names = [one.name for one in asked]
    check_unique("panels.name must differ from panel to panel", names, "rename one")
    _check_order([one.order for one in asked])
    for one in asked:
        for key in ("exposures", "taken"):
            for name in getattr(one, key) or {}:
                require(
                    name in filters,
                    f"panels.{key} of {one.name!r} names the filter {name!r}, but [[filters]] has "
                    f"{list(filters)}; name one of these",
                )


def _check_order(orders: Sequence[int | None]) -> None:
    given = [order for order in orders if order is not None]
    require(
        not given or sorted(given) == list(range(1, len(orders) + 1)),
        f"panels.order must count all panels from 1 on, got {given[:6]}; number them anew or leave order out",
    )

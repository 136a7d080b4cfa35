"""Panels that a plan file lists itself: exactly these pointings, nothing is searched."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from planner.checks import check_position, check_position_angle, check_title, check_within, require
from planner.mosaic.panel import Panel

__all__ = ["PanelRequest", "check_listed", "listed_panels"]

GRID_NAME = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,4})")


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
    """

    name: str
    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    order: int | None = None
    exposures: dict[str, int] | None = None

    def __post_init__(self) -> None:
        check_title(self.name)
        check_position("panels", (self.ra_deg, self.dec_deg))
        check_position_angle("panels.position_angle_deg", self.position_angle_deg)
        if self.order is not None:
            check_within("panels.order", self.order, 1, 20_000, "give a whole number")
        for name, count in (self.exposures or {}).items():
            check_within(f"panels.exposures.{name}", count, 0, 100_000, "give a whole number")

    def wanted(self, filter_name: str, usual: int) -> int:
        """Exposures wanted through a filter, given the filter's own number."""
        return usual if self.exposures is None else self.exposures.get(filter_name, 0)


def listed_panels(asked: Sequence[PanelRequest]) -> tuple[Panel, ...]:
    """Panels as they are listed; row and column follow from names such as ``B3``, else they count in one row.

    >>> [(p.row, p.column) for p in listed_panels([PanelRequest("B3", 1, 2, 3), PanelRequest("east", 1, 2, 3)])]
    [(2, 3), (1, 2)]
    """
    panels = []
    for number, one in enumerate(asked, start=1):
        order = one.order or number
        row, column = _place(one.name) or (1, number)
        angle_deg = one.position_angle_deg % 360.0
        panels.append(Panel(one.name, order, row, column, one.ra_deg % 360.0, one.dec_deg, angle_deg))
    return tuple(panels)


def check_listed(asked: Sequence[PanelRequest], filters: Sequence[str]) -> None:
    """Refuse names used twice, orders that do not count all, exposures through filters that the plan lacks."""
    names = [one.name for one in asked]
    twice = [name for number, name in enumerate(names) if name in names[:number]]
    require(not twice, f"panels.name must differ from panel to panel, got {twice[:1]} twice; rename one")
    _check_order([one.order for one in asked])
    for one in asked:
        for name in one.exposures or {}:
            require(
                name in filters,
                f"panels.exposures of {one.name!r} names the filter {name!r}, but [[filters]] has "
                f"{list(filters)}; name one of these",
            )


def _check_order(orders: Sequence[int | None]) -> None:
    given = [order for order in orders if order is not None]
    require(
        not given or sorted(given) == list(range(1, len(orders) + 1)),
        f"panels.order must count all panels from 1 on, got {given[:6]}; number them anew or leave order out",
    )


def _place(name: str) -> tuple[int, int] | None:
    match = GRID_NAME.fullmatch(name)
    if not match:
        return None
    row = 0
    for letter in match[1]:
        row = 26 * row + ord(letter) - ord("A") + 1
    return row, int(match[2])

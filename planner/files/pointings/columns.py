"""Which column of a table holds what: the names under which pointings are found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from planner.errors import FileError

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["COLUMN_NAMES", "angle_without_column", "find_column", "required_column"]

COLUMN_NAMES: dict[str, tuple[str, ...]] = {
    "name": ("name", "panel", "target_name", "obs_id"),
    "ra": ("ra_deg", "s_ra", "ra"),
    "dec": ("dec_deg", "s_dec", "dec"),
    "order": ("order", "shooting_order"),
    "position_angle": ("position_angle_deg", "position_angle", "pa_deg", "pa"),
}
"""In the order of preference; capitals and small letters are the same."""


def find_column(names: Sequence[str], quantity: str) -> str | None:
    """Return the column that holds a quantity of `COLUMN_NAMES`, None where there is none."""
    by_name = {name.strip().lower(): name for name in reversed(names)}
    return next((by_name[name] for name in COLUMN_NAMES[quantity] if name in by_name), None)


def required_column(names: Sequence[str], quantity: str, source: str) -> str:
    """Return the column that holds a quantity.

    Raises
    ------
    FileError
        If there is none.
    """
    found = find_column(names, quantity)
    if found is None:
        wanted = " or ".join(COLUMN_NAMES[quantity])
        raise FileError(
            f"{source} has no column {wanted}, but {', '.join(names)[:200] or 'none at all'}; "
            "name the columns so, or describe the file in [[tables]]"
        )
    return found


def angle_without_column(request: Request, source: str) -> float:
    """Position angle, degrees, of all pointings of a table that has no column for it: the plan's pinned one.

    Raises
    ------
    FileError
        If the plan pins none.
    """
    if request.mosaic.position_angle_deg is None:
        wanted = " or ".join(COLUMN_NAMES["position_angle"])
        raise FileError(
            f"{source} has no column {wanted}; add one, or give position_angle_deg in [mosaic] for all rows"
        )
    return request.mosaic.position_angle_deg

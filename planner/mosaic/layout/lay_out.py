"""The fewest panels in rows or a grid, at one angle."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.proof.cover import Cover
from planner.mosaic.rectangle import smallest_rectangle
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms

from .curved_rows import sliding_rows
from .flat_rows import count_rows, lay_rows
from .grid import closest_grid, fixed_grid, slim_grid, smallest_grid

__all__ = ["closest_layout", "lay_out", "orientation_for"]

NO_LAYOUT = "no layout meets the overlap asked for; ask for less, or turn the camera per panel"

WAYS, WAYS_IF_FAR, FAR = 6, 30, 1.3
"""So many proven ways to lay rows are compared, for which panels turn out to be spare makes the difference.

More where rows need more than so many times the panels that are thinkable.
"""
PHASES = 24
"""Shifts of rows that are counted to see how few panels are thinkable."""


def orientation_for(region: Region, angles: int | Literal["per_panel"], angle_deg: float) -> Orientation:
    """Orientation of panels with a position angle: one for all, or square with the picture.

    A picture has its position angle at its own centre, which for an outline is not the region's.
    """
    if angles != "per_panel":
        return Orientation.common(angle_deg)
    picture = smallest_rectangle(region, Orientation.common(angle_deg))
    return Orientation.square_with(*picture.center_deg, angle_deg)


def lay_out(region: Region, terms: Terms, layout: Layout, orientation: Orientation) -> NDArray[np.float64]:
    """Centres of a grid or of sliding rows at a given orientation, unit vectors (N, 3).

    A grid is one way for rows to lie: where it needs fewer panels than rows found one by one, it is taken.

    Raises
    ------
    InputError
        If neither meets the overlap asked for.
    """
    system, demands = _row_system(region, orientation), terms.layout_demands
    if layout.columns is not None and layout.rows is not None:
        return fixed_grid(region, system, orientation, demands, columns=layout.columns, rows=layout.rows)
    if layout.kind == "grid":
        fewest = slim_grid(region, system, orientation, demands)
    else:
        fewest = _rows_or_grid(region, system, orientation, demands)
    if fewest is None:
        raise InputError(NO_LAYOUT)
    return fewest


def closest_layout(region: Region, terms: Terms, orientation: Orientation) -> NDArray[np.float64]:
    """Centres of the grid that comes closest where no layout meets the overlap asked for.

    Raises
    ------
    InputError
        If the overlap leaves nothing of a panel.
    """
    system = _row_system(region, orientation)
    closest = closest_grid(region, system, orientation, terms.layout_demands)
    if closest is None:
        raise InputError(NO_LAYOUT)
    return closest


def _rows_or_grid(
    region: Region, system: Orientation, orientation: Orientation, demands: Sequence[Demand]
) -> NDArray[np.float64] | None:
    """The fewer of rows and grid; the likely one first, alone if it is as good as either is likely to be."""
    smallest = smallest_grid(region, system, demands)
    thinkable = min(_thinkable(region, orientation, demands), smallest)
    if smallest == thinkable:
        grid = slim_grid(region, system, orientation, demands)
        if grid is not None and len(grid) <= thinkable:
            return grid
        return _fewer(_slim_rows(region, orientation, demands, thinkable), grid)
    rows = _slim_rows(region, orientation, demands, thinkable)
    if rows is not None and len(rows) <= thinkable and orientation.is_common:
        return rows
    return _fewer(rows, slim_grid(region, system, orientation, demands))


def _slim_rows(
    region: Region, orientation: Orientation, demands: Sequence[Demand], thinkable: int
) -> NDArray[np.float64] | None:
    """Sliding rows with the fewest panels of a few ways, or the first with as few as thinkable."""
    fewest: NDArray[np.float64] | None = None
    for number, rows in enumerate(sliding_rows(region, orientation, demands, enough=thinkable), start=1):
        fewest = _fewer(fewest, rows)
        far = fewest is not None and len(fewest) > FAR * thinkable
        if fewest is not None and (len(fewest) <= thinkable or number >= (WAYS_IF_FAR if far else WAYS)):
            break
    if fewest is None or len(fewest) > thinkable:
        fewest = _fewer(fewest, _flat_rows(region, orientation, demands))
    return fewest


def _flat_rows(
    region: Region, orientation: Orientation, demands: Sequence[Demand]
) -> NDArray[np.float64] | None:
    """Rows as they lie in a flat chart, if the proof finds that they meet the demands on the sphere."""
    if min(min(demand.core) for demand in demands) <= 0.0:
        return None
    rows = lay_rows(region, orientation, demands)
    return None if Cover(region, orientation.bases(rows)).first_gap(demands) else rows


def _fewer(
    first: NDArray[np.float64] | None, second: NDArray[np.float64] | None
) -> NDArray[np.float64] | None:
    if first is None or second is None:
        return second if first is None else first
    return second if len(second) < len(first) else first


def _thinkable(region: Region, orientation: Orientation, demands: Sequence[Demand]) -> int:
    """Panels that rows, from either end, would need if meridians did not converge: layouts hardly ever need less."""
    angles = [orientation.angle_deg, orientation.angle_deg + 180.0]
    return int(count_rows(region, orientation.turned_to(0.0), demands, angles, phases=PHASES).min())


def _row_system(region: Region, orientation: Orientation) -> Orientation:
    """System of rows and columns: square with the panels at the region's centre."""
    if not orientation.is_common:
        return orientation
    return Orientation.square_with(*region.center_deg, orientation.angle_deg)

"""Laying out a mosaic: a region, terms and a layout in; a proven mosaic out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import wrapped_deg

from .demand import Demand
from .grid import closest_grid, fixed_grid, slim_grid, smallest_grid
from .mosaic import Axes, Mosaic
from .naming import named_panels, ordered_by_angle
from .orientation import Orientation
from .proof import Cover
from .proven import area_bound, prove
from .region import Region
from .rows import sliding_rows
from .terms import Terms

__all__ = [
    "MOST_PANELS",
    "Layout",
    "build_mosaic",
    "closest_layout",
    "lay_out",
    "mosaic_from_centers",
    "orientation_for",
]

MOST_PANELS = 20_000
NO_LAYOUT = "no layout meets the overlap asked for; ask for less, or turn the camera per panel"
WAYS, WAYS_IF_FAR, FAR = 6, 30, 1.3
"""So many proven ways to lay rows are compared, for which panels turn out to be spare makes the difference.

More where rows need more than so many times the panels that are thinkable.
"""
PHASES = 24
"""Shifts of rows that are counted to see how few panels are thinkable."""
Progress = Callable[[str, float], None]
"""Called with what is being done and the share of it that is done, in [0, 1]."""


@dataclass(frozen=True)
class Layout:
    """How panels may be placed.

    Parameters
    ----------
    kind : {'free', 'sliding', 'grid'}
    turns : 'common', 'per_panel' or int
    angle_deg : float, optional
        Position angle of the panels (of the axes for `per_panel`); left out, the one that needs the fewest.
    angle_range_deg : (float, float), optional
        Search only from the first angle up to the second; may wrap.
    columns, rows : int, optional
        Exactly this grid.
    picture_angle_deg : float, optional
        Of the picture's up: names begin at its top, and it decides between equal plans.
    effort : {'quick', 'usual', 'thorough'}
    measure : bool
        Of the plan that is found: see `prove`.
    """

    kind: Literal["free", "sliding", "grid"] = "free"
    turns: Literal["common", "per_panel"] | int = "common"
    angle_deg: float | None = None
    angle_range_deg: tuple[float, float] | None = None
    columns: int | None = None
    rows: int | None = None
    picture_angle_deg: float | None = None
    effort: Literal["quick", "usual", "thorough"] = "usual"
    measure: bool = True


def build_mosaic(region: Region, terms: Terms, layout: Layout, *, progress: Progress | None = None) -> Mosaic:
    """Lay out panels and prove them.

    Parameters
    ----------
    region : Region
    terms : Terms
    layout : Layout
    progress : callable, optional

    Raises
    ------
    InputError
        If the region needs more than 20,000 panels.
    """
    _refuse_too_many(region, terms)
    if layout.angle_deg is None or (layout.kind == "free" and layout.columns is None):
        from .choose import choose_layout

        return choose_layout(region, terms, layout, progress=progress)
    orientation = orientation_for(region, layout.turns, layout.angle_deg)
    try:
        centers = lay_out(region, terms, layout, orientation)
    except InputError:
        centers = closest_layout(region, terms, orientation)
    fixed = len(centers) if layout.columns is not None else None
    return mosaic_from_centers(region, terms, layout, orientation, centers, panel_count_bound=fixed)


def orientation_for(
    region: Region, turns: Literal["common", "per_panel"] | int, angle_deg: float
) -> Orientation:
    """Orientation of panels with a position angle: one for all, or square with the picture."""
    if turns != "per_panel":
        return Orientation.common(angle_deg)
    return Orientation.square_with(*region.center_deg, angle_deg)


def lay_out(region: Region, terms: Terms, layout: Layout, orientation: Orientation) -> NDArray[np.float64]:
    """Centres of a grid or of sliding rows at a given orientation, unit vectors (N, 3).

    A grid is one way for rows to lie: where it needs fewer panels than rows found one by one, it is taken.

    Raises
    ------
    InputError
        If neither meets the overlap asked for.
    """
    frame, demands = _row_frame(region, orientation), terms.layout_demands
    if layout.columns is not None and layout.rows is not None:
        return fixed_grid(region, frame, orientation, demands, columns=layout.columns, rows=layout.rows)
    if layout.kind == "grid":
        fewest = slim_grid(region, frame, orientation, demands)
    else:
        fewest = _rows_or_grid(region, frame, orientation, demands)
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
    frame = _row_frame(region, orientation)
    closest = closest_grid(region, frame, orientation, terms.layout_demands)
    if closest is None:
        raise InputError(NO_LAYOUT)
    return closest


def _rows_or_grid(
    region: Region, frame: Orientation, orientation: Orientation, demands: Sequence[Demand]
) -> NDArray[np.float64] | None:
    """The fewer of rows and grid; the likely one first, alone if it is as good as either is likely to be."""
    smallest = smallest_grid(region, frame, demands)
    thinkable = min(_thinkable(region, orientation, demands), smallest)
    if smallest == thinkable:
        grid = slim_grid(region, frame, orientation, demands)
        if grid is not None and len(grid) <= thinkable:
            return grid
        return _fewer(_slim_rows(region, orientation, demands, thinkable), grid)
    rows = _slim_rows(region, orientation, demands, thinkable)
    if rows is not None and len(rows) <= thinkable and orientation.is_common:
        return rows
    return _fewer(rows, slim_grid(region, frame, orientation, demands))


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
    from .search.rows import lay_rows

    if min(min(demand.core) for demand in demands) <= 0.0:
        return None
    rows = lay_rows(region, orientation, demands)
    return None if Cover(region, orientation.frames(rows)).first_gap(demands) else rows


def _fewer(
    first: NDArray[np.float64] | None, second: NDArray[np.float64] | None
) -> NDArray[np.float64] | None:
    if first is None or second is None:
        return second if first is None else first
    return second if len(second) < len(first) else first


def _thinkable(region: Region, orientation: Orientation, demands: Sequence[Demand]) -> int:
    """Panels that rows, from either end, would need if meridians did not converge: layouts hardly ever need less."""
    from .search import count_rows

    angles = [orientation.angle_deg, orientation.angle_deg + 180.0]
    return int(count_rows(region, orientation.turned_to(0.0), demands, angles, phases=PHASES).min())


def mosaic_from_centers(
    region: Region,
    terms: Terms,
    layout: Layout,
    orientation: Orientation,
    centers: NDArray[np.float64],
    *,
    angles_deg: NDArray[np.float64] | None = None,
    panel_count_bound: int | None = None,
) -> Mosaic:
    """Name panels at these centres and prove them; their position angles are the orientation's if not given."""
    if angles_deg is None:
        angles_deg = orientation.position_angles_deg(centers)
    up_deg = float(orientation.position_angles_deg(region.frame[2]))
    if layout.picture_angle_deg is not None and abs(wrapped_deg(up_deg - layout.picture_angle_deg)) > 90.0:
        up_deg += 180.0
    picture = Orientation.square_with(*region.center_deg, up_deg)
    panels = named_panels(centers, angles_deg, picture=picture, band_deg=terms.field.height_deg / 2)
    if isinstance(layout.turns, int):
        panels = ordered_by_angle(panels)
    per_panel = layout.turns == "per_panel"
    return prove(
        region,
        terms,
        panels,
        turns=layout.turns,
        axes=Axes(*orientation.origin_deg, orientation.north_angle_deg % 360.0) if per_panel else None,
        panel_count_bound=panel_count_bound,
        measure=layout.measure,
    )


def _row_frame(region: Region, orientation: Orientation) -> Orientation:
    """Frame of rows and columns: square with the panels at the region's centre."""
    if not orientation.is_common:
        return orientation
    return Orientation.square_with(*region.center_deg, orientation.angle_deg)


def _refuse_too_many(region: Region, terms: Terms) -> None:
    least = area_bound(region, terms)
    a, b = terms.demands[0].core
    likely = region.area_deg2 / (4 * math.degrees(a) * math.degrees(b))
    if max(least, 0.8 * likely) > MOST_PANELS:
        raise InputError(
            f"the region needs about {max(least, round(likely)):,} panels, more than the {MOST_PANELS:,} that "
            "can be planned; make the region smaller or the field larger"
        )

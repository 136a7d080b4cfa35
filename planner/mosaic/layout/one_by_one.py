"""The parts of a region planned one by one, each as if it were alone: no plan of them all needs more panels.

Parts so near each other that a box about a point of one reaches into another are planned together: alone, they
would lack the overlap that is asked for over all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import distinct, steady
from planner.mosaic.demand import Demand
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import panel_centers
from planner.mosaic.proof.cover import Cover
from planner.mosaic.proof.spare_panels import needed
from planner.mosaic.region import Region

__all__ = ["may_save_panels", "panels_one_by_one"]


def may_save_panels(region: Region, mosaic: Mosaic) -> bool:
    """Whether parts planned one by one might need fewer panels than a mosaic over them all."""
    several = len(region.parts) > 1 and region.join == "apart"
    return several and len(mosaic.panels) > mosaic.panel_count_bound


def panels_one_by_one(
    region: Region, orientation: Orientation, demands: Sequence[Demand], plan: Callable[[Region], Mosaic]
) -> NDArray[np.float64] | None:
    """Centres of panels planned for each group of near parts alone, without those that nothing needs.

    Parameters
    ----------
    region : Region
        With parts.
    orientation : Orientation
        Of all panels.
    demands : sequence of Demand
        Proven over all parts together.
    plan : callable
        Plans one group.

    Returns
    -------
    ndarray, shape (N, 3), or None
        Unit vectors; None if there is one group alone, or the panels do not meet the demands.
    """
    groups = _groups(region, demands)
    if len(groups) < 2:
        return None
    centers = []
    for group in groups:
        # panels that are not of one common angle are square with the picture of all parts
        alone = group if orientation.is_common else replace(group, middle_deg=region.center_deg)
        centers.append(panel_centers(plan(alone).panels))
    cover = Cover(region, orientation.bases(np.concatenate(centers)))
    if cover.first_gap(demands):
        return None
    return np.asarray(np.concatenate(centers)[needed(cover, demands)])


def _groups(region: Region, demands: Sequence[Demand]) -> list[Region]:
    """Parts, those together between which a box reaches."""
    shapes = np.array([part.region.seen_from(region.basis) for part in region.parts], dtype=object)
    stretch = 1.0 / steady.cos(region.radius_rad) ** 2
    reach = 2.0 * stretch * max(steady.hypot(*demand.box) for demand in demands)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=reach)
    label = np.arange(len(shapes))
    for _ in range(len(shapes)):
        lowest = label.copy()
        np.minimum.at(lowest, first, label[second])
        if np.array_equal(lowest, label):
            break
        label = lowest
    groups = [[region.parts[k] for k in np.flatnonzero(label == name)] for name in distinct(label)]
    return [group[0].region if len(group) == 1 else Region.from_parts(group) for group in groups]

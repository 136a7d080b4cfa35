"""The parts of a region planned one by one, each as if it were alone: no plan of them all needs more panels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.geometry import sky_to_vector
from planner.mosaic.demand import Demand
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.proof.cover import Cover
from planner.mosaic.proof.spare_panels import needed
from planner.mosaic.region import Region

__all__ = ["may_save_panels", "panels_one_by_one"]


def may_save_panels(region: Region, mosaic: Mosaic) -> bool:
    """Whether parts planned one by one might need fewer panels than a mosaic over them all."""
    several = len(region.parts) > 1 and region.join == "apart"
    return several and len(mosaic.panels) > max(mosaic.panel_count_bound, len(region.parts))


def panels_one_by_one(
    region: Region,
    orientation: Orientation,
    demands: Sequence[Demand],
    plan: Callable[[Region], Mosaic],
) -> NDArray[np.float64] | None:
    """Centres of panels planned for each part alone, without those that nothing needs; None if they fall short.

    They fall short where parts lie so near each other that a box about a point of one reaches into another.

    Parameters
    ----------
    region : Region
        With parts.
    orientation : Orientation
        Of all panels.
    demands : sequence of Demand
        Proven over all parts together.
    plan : callable
        Plans one part.

    Returns
    -------
    ndarray, shape (N, 3)
        Unit vectors.
    """
    centers = []
    for part in region.parts:
        alone = part.region
        if not orientation.is_common:  # panels are square with the picture of all parts
            alone = replace(alone, middle_deg=region.center_deg)
        mosaic = plan(alone)
        centers.append(sky_to_vector(*np.array([(p.ra_deg, p.dec_deg) for p in mosaic.panels]).T))
    cover = Cover(region, orientation.frames(np.concatenate(centers)))
    if cover.first_gap(demands):
        return None
    return np.asarray(np.concatenate(centers)[needed(cover, demands)])

"""What kept panels leave open, by the exact proof."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.demand import Demand, with_hair
from planner.mosaic.open_ground import OpenGround
from planner.mosaic.region import Region

from .cover import Cover

__all__ = ["left_open", "with_kept"]


def with_kept(region: Region, ground: OpenGround | None, bases: NDArray[np.float64]) -> Cover:
    """Return the cover of panels, and of the panels that stay beside open ground, these first.

    Parameters
    ----------
    region : Region
    ground : OpenGround or None
        None: no panels stay.
    bases : ndarray, shape (N, 3, 3)
        Of the others.
    """
    if ground is None:
        return Cover(region, bases)
    own = (*(ground.own or (None,) * len(ground.bases)), *(None,) * len(bases))
    return Cover(region, np.concatenate([ground.bases, bases]), own)


def left_open(cover: Cover, demands: Sequence[Demand]) -> OpenGround | None:
    """Return what panels of a cover leave to be served; None if they serve all.

    Parameters
    ----------
    cover : Cover
        Of the panels that stay.
    demands : sequence of Demand
        What every plan must meet; ground is told for a hair more too, for which layouts are made.
    """
    shapes = {demand: cover.gap(demand).shapes for demand in (*demands, *with_hair(demands))}
    if all(shapes[demand].is_empty for demand in demands):
        return None
    return OpenGround(cover.region, shapes, cover.bases, cover.own)

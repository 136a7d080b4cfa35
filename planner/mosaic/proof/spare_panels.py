"""Panels that nothing needs, and so may be left out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.mosaic.demand import Demand
from planner.mosaic.region import Region

from .cover import Cover, Gap, without_hairs

__all__ = ["needed"]


def needed(cover: Cover, demands: Sequence[Demand], *, first: int = 0) -> NDArray[np.bool_]:
    """Which panels must stay for all to be served that the cover serves now, shape (N,); no further one can go.

    Panels are tried from the one that serves the least ground of its own upwards. Those that serve a point which
    no other panel serves need no closer look.

    Parameters
    ----------
    cover : Cover
    demands : sequence of Demand
    first : int
        Panels before this one stay in any case.
    """
    layers = [cover.cores(demand) for demand in demands]
    near = [_neighbours(cores) for cores in layers]
    maybe = np.all([~_alone(cores) for cores in layers], axis=0)
    kept = np.ones(len(cover.bases), dtype=bool)
    for index in np.argsort(shapely.area(layers[0]), kind="stable"):
        if (
            index >= first
            and maybe[index]
            and all(
                _is_spare(index, cores, kept, cover.region, pairs)
                for cores, pairs in zip(layers, near, strict=True)
            )
        ):
            kept[index] = False
    return kept


def _alone(cores: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Whether some point inside each core lies in no other core."""
    points = shapely.point_on_surface(cores)
    point, _ = shapely.STRtree(cores).query(points, predicate="intersects")
    return np.asarray(np.bincount(point, minlength=len(cores)) == 1)


def _neighbours(cores: NDArray[np.object_]) -> list[NDArray[np.intp]]:
    """For each core the indices of the others that it touches."""
    first, second = shapely.STRtree(cores).query(cores, predicate="intersects")
    order = np.argsort(first, kind="stable")
    first, second = first[order], second[order]
    return np.split(second, np.searchsorted(first, np.arange(1, len(cores))))


def _is_spare(
    index: int,
    cores: NDArray[np.object_],
    kept: NDArray[np.bool_],
    region: Region,
    neighbours: list[NDArray[np.intp]],
) -> bool:
    """Whether the other kept cores serve all that one core serves."""
    near = neighbours[index][kept[neighbours[index]] & (neighbours[index] != index)]
    core = cores[index]
    rest = shapely.difference(core, shapely.union_all(cores[near])) if len(near) else core
    return not Gap(region, without_hairs(rest))

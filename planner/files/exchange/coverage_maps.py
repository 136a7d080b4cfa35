"""Multi-order coverage maps (MOC) of the panels together and of the region.

A map is made of cells of the sky that touch the area, so it is a little larger than the area itself. It shows
where, to any program that knows the standard; it never judges overlap, which is finer than its cells.

Source: IVOA recommendation MOC 2.0 (2022-07-27).
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from planner.geometry import vector_to_sky
from planner.mosaic.panel import Field, panel_corners

if TYPE_CHECKING:
    from planner.mosaic.mosaic import Mosaic
    from planner.mosaic.region import Region

__all__ = ["SkyCoverageMap", "coverage_of_mosaic", "coverage_of_region", "map_order"]

CELLS_PER_SIDE, MANY_CELLS_PER_SIDE = 32, 16
"""A cell is at most this part of a panel's short side; the second where there are many panels."""
MANY_PANELS = 1000
CELL_AT_ORDER_0_DEG = math.degrees(math.sqrt(math.pi / 3))
FINEST_ORDER = 18
BATCH = 2000
"""Polygons turned into maps at a time: bounds memory."""


@dataclass(frozen=True)
class SkyCoverageMap:
    """A coverage map in both of its file forms."""

    fits: bytes
    json: bytes


def map_order(field: Field, panels: int = 1) -> int:
    """Return the order whose cells are fine enough for so many panels of this field.

    >>> map_order(Field(3.2, 2.14)), map_order(Field(3.2, 2.14), 5000)    # cells of 3.4 and 6.9 arc minutes
    (10, 9)
    """
    parts = CELLS_PER_SIDE if panels <= MANY_PANELS else MANY_CELLS_PER_SIDE
    wanted_deg = min(field.width_deg, field.height_deg) / parts
    return min(FINEST_ORDER, max(0, math.ceil(math.log2(CELL_AT_ORDER_0_DEG / wanted_deg))))


def coverage_of_mosaic(mosaic: Mosaic) -> SkyCoverageMap:
    """Map of everything that lies in at least one panel's usable field."""
    ra_deg, dec_deg = vector_to_sky(panel_corners(mosaic.panels, mosaic.field))
    return _map_of_polygons(ra_deg, dec_deg, map_order(mosaic.field, len(mosaic.panels)))


def coverage_of_region(region: Region, field: Field) -> SkyCoverageMap:
    """Map of the region, as fine as that of a few panels of this field."""
    ra_deg, dec_deg = np.array(region.outline_deg, dtype=float).T
    return _map_of_polygons(ra_deg[None] % 360.0, dec_deg[None], map_order(field))


def _map_of_polygons(ra_deg: NDArray[np.float64], dec_deg: NDArray[np.float64], order: int) -> SkyCoverageMap:
    """Map of the union of polygons with great-circle edges; arrays of shape (polygons, corners)."""
    from mocpy import MOC

    corners = np.stack([ra_deg, dec_deg], axis=1).reshape(-1, ra_deg.shape[1])
    whole = MOC.new_empty(order)
    for start in range(0, len(corners), 2 * BATCH):
        whole = whole.union(*MOC.from_polygons(corners[start : start + 2 * BATCH], max_depth=order))
    return SkyCoverageMap(_fits_bytes(whole), (whole.to_string("json") + "\n").encode())


def _fits_bytes(moc: Any) -> bytes:
    stream = io.BytesIO()
    with moc.serialize("fits", {"CREATOR": "mosaic planner"}) as tables:
        tables.writeto(stream)
    return stream.getvalue()

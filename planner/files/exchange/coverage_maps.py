"""Multi-order coverage maps (MOC) of the panels together and of the region.

A map is made of cells of the sky that touch the area, so it is a little larger than the area itself. It shows
where, to any program that knows the standard; it never judges overlap, which is finer than its cells.

Source: IVOA recommendation MOC 2.0 (2022-07-27).
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import plane_to_vector, vector_to_sky
from planner.mosaic.panel import Field, panel_corners
from planner.mosaic.rings import Ring, ring_of

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
    return _both_forms([np.stack([ra_deg, dec_deg], axis=1)], map_order(mosaic.field, len(mosaic.panels)))


def coverage_of_region(region: Region, field: Field) -> SkyCoverageMap:
    """Map of the region, as fine as that of a few panels of this field."""
    alike: dict[int, list[NDArray[np.float64]]] = {}
    for ring in _rings_without_holes(region):
        ra_deg, dec_deg = np.array(ring, dtype=float).T
        alike.setdefault(len(ring), []).append(np.stack([ra_deg % 360.0, dec_deg]))
    return _both_forms([np.array(polygons) for polygons in alike.values()], map_order(field))


def _rings_without_holes(region: Region) -> Sequence[Ring]:
    """Outlines of all pieces; a piece with holes in triangles."""
    pieces = shapely.get_parts(region.polygon)
    if not any(len(piece.interiors) for piece in pieces):
        return region.rings_deg
    flat = [
        part
        for piece in pieces
        for part in (
            shapely.get_parts(shapely.constrained_delaunay_triangles(piece)) if piece.interiors else [piece]
        )
    ]
    return [ring_of(plane_to_vector(shapely.get_coordinates(part)[:-1], region.basis)) for part in flat]


def _both_forms(groups: Sequence[NDArray[np.float64]], order: int) -> SkyCoverageMap:
    """Map of the union of polygons with great-circle edges, in groups of as many corners each.

    Parameters
    ----------
    groups : sequence of ndarray, each of shape (polygons, 2, corners)
        Right ascensions and declinations, degrees.
    order : int
    """
    from mocpy import MOC

    whole = MOC.new_empty(order)
    for group in groups:
        for start in range(0, len(group), BATCH):
            lines = group[start : start + BATCH].reshape(-1, group.shape[2])
            whole = whole.union(*MOC.from_polygons(lines, max_depth=order))
    return SkyCoverageMap(_fits_bytes(whole), (whole.to_string("json") + "\n").encode())


def _fits_bytes(moc: Any) -> bytes:
    stream = io.BytesIO()
    with moc.serialize("fits", {"CREATOR": "mosaic planner"}) as tables:
        tables.writeto(stream)
    return stream.getvalue()

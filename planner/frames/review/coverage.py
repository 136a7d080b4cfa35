"""Coverage by the frames actually taken, proven as a plan's is: with their own centres, angles and sizes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.demand import Demand
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel, Shape, own_shapes, panel_bases, rectangle_shape
from planner.mosaic.proof.cover import Cover, Gap
from planner.mosaic.proof.largest_box import largest_box
from planner.request.request import MosaicRequest

from .footprints import Footprints

__all__ = ["FrameCoverage", "frame_coverage", "frame_gap", "gap_of_panels"]

SIZE_STEP = 1e-3
"""Frames are grouped by size in such steps of the plan's field, rounded down: what is called covered is."""
MOST_PROVEN = 120
"""With more frames about so many are proven first, some of each panel; for the overlap a lower bound."""


@dataclass(frozen=True)
class FrameCoverage:
    """What good frames cover.

    Parameters
    ----------
    gap : Gap
        What they leave of the region.
    overlap_found : float
        As a plan's: a proven lower bound; 0 with a gap.
    """

    gap: Gap
    overlap_found: float

    @property
    def covered(self) -> bool:
        """Whether every point of the region lies in a good frame."""
        return not self.gap


def frame_coverage(
    mosaic: Mosaic, asked: MosaicRequest, footprints: Footprints, taken: Sequence[Panel] = ()
) -> FrameCoverage:
    """Coverage of a plan's region by frames.

    Parameters
    ----------
    mosaic : Mosaic
    asked : MosaicRequest
    footprints : Footprints
        Of good frames.
    taken : sequence of Panel
        Panels of which it is known that they have good frames, whichever are at hand.
    """
    gap = frame_gap(mosaic, footprints, gap_of_panels(mosaic, taken))
    return FrameCoverage(gap, 0.0 if gap else _overlap(mosaic, asked, footprints, taken))


def frame_gap(mosaic: Mosaic, footprints: Footprints, within: Gap | None = None) -> Gap:
    """Return what frames leave of a plan's region, or of a gap that earlier frames left."""
    whole = Gap(mosaic.region, mosaic.region.polygon) if within is None else within
    parts = _some(footprints)
    gap = whole
    for chosen in (parts, footprints) if len(parts) < len(footprints) else (footprints,):
        gap = _gap_of(mosaic, chosen, whole)
        if not gap:
            break
    return gap


def gap_of_panels(mosaic: Mosaic, taken: Sequence[Panel]) -> Gap | None:
    """Return what panels that have frames, whichever are at hand, leave of a plan's region; None without any."""
    if not taken:
        return None
    cover = Cover(mosaic.region, panel_bases(taken), own_shapes(taken))
    return cover.gap(Demand(mosaic.field.shape, (0.0, 0.0)))


def _gap_of(mosaic: Mosaic, footprints: Footprints, gap: Gap) -> Gap:
    """What remains of a gap after the frames of each size, one size after the other."""
    sizes = _step_sizes(mosaic, footprints)
    for size in np.unique(sizes, axis=0):
        same = np.all(sizes == size, axis=1)
        gap = Cover(mosaic.region, footprints.bases[same]).gap(_demand(size), within=gap.shapes)
        if not gap:
            break
    return gap


def _step_sizes(mosaic: Mosaic, footprints: Footprints) -> NDArray[np.float64]:
    """Half sizes rounded down to steps, shape (N, 2)."""
    plan = np.array([mosaic.field.half_width, mosaic.field.half_height])
    steps = np.floor(footprints.half_sizes / plan / SIZE_STEP + 1e-4)
    return np.asarray(steps * SIZE_STEP * plan)


def _shape(size: NDArray[np.float64]) -> Shape:
    return rectangle_shape(float(size[0]), float(size[1]))


def _demand(size: NDArray[np.float64]) -> Demand:
    return Demand(_shape(size), (0.0, 0.0))


def _some(footprints: Footprints) -> Footprints:
    """At most about `MOST_PROVEN` frames: of every panel the largest, and others evenly through the list."""
    if len(footprints) <= MOST_PROVEN:
        return footprints
    footprints = footprints.chosen(_different(footprints))
    order = np.lexsort((-footprints.half_sizes.min(axis=1), footprints.panels))
    panels = footprints.panels[order]
    place = np.arange(len(order)) - np.searchsorted(panels, panels)
    per_panel = max(2, MOST_PROVEN // len(np.unique(panels)))
    return footprints.chosen(np.sort(order[place < per_panel]))


def _different(footprints: Footprints) -> NDArray[np.intp]:
    """Find one of each group of frames with the same ground but for rounding."""
    table = np.column_stack([footprints.bases.reshape(-1, 9), footprints.half_sizes])
    return np.unique(np.round(table, 10), axis=0, return_index=True)[1]


def _overlap(mosaic: Mosaic, asked: MosaicRequest, footprints: Footprints, taken: Sequence[Panel]) -> float:
    """Least overlap of the frames, with the smallest frame's size for all of them."""
    some, plan = _some(footprints), np.array([mosaic.field.half_width, mosaic.field.half_height])
    size = np.minimum(_step_sizes(mosaic, some).min(axis=0, initial=math.inf), plan)
    box = size if asked.overlap_arcmin is None else np.full(2, size.min())
    shapes = (
        *own_shapes([replace(one, field=one.field or mosaic.field) for one in taken]),
        *(None,) * len(some),
    )
    cover = Cover(mosaic.region, np.concatenate([panel_bases(taken), some.bases]), shapes)
    if cover.gap(_demand(size)):
        return 0.0
    return largest_box(
        cover, _shape(size), (float(box[0]), float(box[1])), expected=mosaic.overlap_found, cap=1.0
    )

"""What good frames are worth in hours at a dark sky, frame by frame and by panel and filter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.panel import Panel
from planner.night.dark_sky import Exposed, dark_sky_shares, passed_share
from planner.night.settings import Filter, Site

from .footprints import Footprints
from .tally import PanelExposure

__all__ = ["DarkSky", "dark_sky_of", "with_dark_sky"]


@dataclass(frozen=True)
class DarkSky:
    """What N frames are worth.

    Parameters
    ----------
    seconds : ndarray, shape (N,)
        At a dark sky, to a thousandth; 0 where it cannot be told.
    untold : int
        Frames without a usable date, or of a place that was below the horizon at that time.
    """

    seconds: NDArray[np.float64]
    untold: int


def dark_sky_of(
    footprints: Footprints, sites: Sequence[Site], filters: Sequence[Filter], names: Mapping[str, int]
) -> DarkSky | None:
    """Weigh frames by the moonlight in which they were taken; None without a site or without filters.

    Parameters
    ----------
    footprints : Footprints
    sites : sequence of Site
    filters : sequence of Filter
        Of the plan; a frame of none of them counts as one of a broad band.
    names : mapping of str to int
        Numbers that the footprints have for filters.
    """
    if not sites or not filters:
        return None
    passed = np.ones(max([*names.values(), -1]) + 2)  # the last one is that of frames without a filter, -1
    for one in filters:
        passed[names[one.name]] = passed_share(one)
    start_s = np.full(len(footprints), np.nan) if footprints.start_s is None else footprints.start_s
    vectors = footprints.bases[:, 2].reshape(-1, 3)
    exposed = Exposed(start_s, footprints.seconds, vectors, passed[footprints.filters])
    shares = dark_sky_shares(exposed, tuple(sites))
    return DarkSky(np.round(footprints.seconds * np.nan_to_num(shares), 3), int(np.isnan(shares).sum()))


def with_dark_sky(
    rows: Sequence[PanelExposure],
    dark: DarkSky | None,
    footprints: Footprints,
    panels: Sequence[Panel],
    names: Mapping[str, int],
) -> tuple[PanelExposure, ...]:
    """Return rows with what their frames are worth together."""
    if dark is None:
        return tuple(rows)
    width = max([*names.values(), -1]) + 2
    place = footprints.panels * width + footprints.filters % width
    sums = np.bincount(place, dark.seconds, minlength=len(panels) * width).reshape(-1, width)
    numbers = {panel.name: number for number, panel in enumerate(panels)}
    return tuple(
        replace(row, dark_sky_seconds=float(sums[numbers[row.name], names.get(row.filter or "", -1)]))
        for row in rows
    )
